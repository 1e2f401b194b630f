// A file that takes its time to be read says so at once, and counts; the button is pressed once.
for (const form of document.querySelectorAll("form[data-working]")) {
  form.addEventListener("submit", () => {
    const begun = Date.now();
    const line = document.createElement("p");
    line.className = "working";
    line.setAttribute("role", "status");
    const words = document.createElement("span");
    line.append(words, " ", document.createElement("progress"));
    form.append(line);
    const say = () => {
      words.textContent = `${form.dataset.working}: ${Math.floor((Date.now() - begun) / 1000)} s so far.`;
    };
    say();
    const counting = setInterval(say, 500);
    const button = form.querySelector("button");
    setTimeout(() => (button.disabled = true), 0);
    // back from the next page: as it was
    addEventListener("pageshow", () => {
      clearInterval(counting);
      line.remove();
      button.disabled = false;
    });
  });
}
