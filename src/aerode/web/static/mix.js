// While a mix is typed: what it dries to and what can hurt, fetched a moment after the last key. Nothing is stored.
const form = document.querySelector("#mix");
const place = document.querySelector("#dries");
if (form && place) {
  const wait = 450;
  let due = 0;
  let running = null;

  const show = async () => {
    running?.abort();
    running = new AbortController();
    try {
      const body = new URLSearchParams(new FormData(form));
      const answer = await fetch(form.dataset.preview, { method: "POST", body, signal: running.signal });
      if (!answer.ok) throw new Error(answer.statusText);
      const part = new DOMParser().parseFromString(await answer.text(), "text/html");
      place.replaceChildren(...part.body.childNodes);
    } catch (fault) {
      if (fault.name !== "AbortError") place.textContent = "What it dries to cannot be fetched just now; what you typed is still here.";
    }
  };

  form.addEventListener("input", (event) => {
    if (event.target.name === "note" || event.target.name === "why") return;
    clearTimeout(due);
    due = setTimeout(show, wait);
  });

  document.querySelector("#show")?.closest("p").remove();

  // Another row without asking the server for a page.
  const rows = document.querySelector("#rows");
  document.querySelector("#more-rows")?.addEventListener("click", (event) => {
    event.preventDefault();
    const last = rows.lastElementChild;
    const next = Number(last.dataset.row) + 1;
    const row = last.cloneNode(true);
    row.dataset.row = String(next);
    for (const part of row.querySelectorAll(".fault")) part.remove();
    for (const part of row.querySelectorAll("[id], [for], [name]")) {
      for (const key of ["id", "for", "name"]) {
        if (part.hasAttribute(key)) part.setAttribute(key, part.getAttribute(key).replace(/rows([.-])\d+/, `rows$1${next}`));
      }
    }
    for (const input of row.querySelectorAll("input")) {
      input.value = "";
      input.removeAttribute("aria-invalid");
      input.removeAttribute("aria-describedby");
    }
    for (const field of row.querySelectorAll(".wrong")) field.classList.remove("wrong");
    rows.append(row);
    row.querySelector("input").focus();
  });

  if ([...form.querySelectorAll('input[name$=".of"]')].some((input) => input.value.trim())) show();
}
