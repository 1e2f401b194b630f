// Brings "what would overturn it" into the page once the verdict is read; without this, a link leads there.
const place = document.querySelector("#doubts[data-fetch]");
if (place) {
  const said = document.createElement("p");
  said.setAttribute("role", "status");
  said.textContent = "Each input is being changed alone, and everything compared again: a few seconds.";
  place.querySelector("p").replaceWith(said);
  const began = performance.now();
  const clock = setInterval(() => {
    said.textContent = `Each input is being changed alone, and everything compared again: ${Math.round((performance.now() - began) / 1000)} s so far.`;
  }, 1000);
  try {
    const answer = await fetch(place.dataset.fetch);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const found = page.querySelector("#doubts");
    if (!answer.ok || !found) throw new Error(answer.statusText);
    place.replaceWith(document.importNode(found, true));
  } catch {
    said.textContent = "It could not be fetched; the link below leads to it.";
  } finally {
    clearInterval(clock);
  }
}
