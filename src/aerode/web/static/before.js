// While a piece is typed: what can hurt in coating and heating it, fetched a moment after the last key. Nothing is stored.
const wait = 450;
const told = /^(layers|press)\./;

const places = [...document.querySelectorAll("div[data-before]")];
const past = places.find((place) => place.dataset.before === "past");
const shown = new Map(places.map((place) => [place, place.innerHTML]));

for (const form of document.querySelectorAll("form[data-before]")) {
  let due = 0;
  let running = null;

  const show = async () => {
    running?.abort();
    running = new AbortController();
    try {
      const body = new URLSearchParams(new FormData(form));
      const answer = await fetch(form.dataset.before, { method: "POST", body, signal: running.signal });
      if (!answer.ok) return; // what stands there stays; saving asks all the same
      const part = new DOMParser().parseFromString(await answer.text(), "text/html");
      for (const place of places) {
        const fresh = part.querySelector(`div[data-before="${place.dataset.before}"]`);
        if (!fresh || fresh.innerHTML === shown.get(place)) continue; // what was opened stays open
        shown.set(place, fresh.innerHTML);
        place.replaceChildren(...fresh.childNodes);
      }
    } catch {
      // As above.
    }
  };

  form.addEventListener("input", (event) => {
    if (!told.test(event.target.name)) return;
    // Told right under the plate that is being typed, where the eye is.
    const field = event.target.name.endsWith(".plate_temperature") && event.target.closest(".field");
    if (field && past && !field.contains(past)) field.append(past);
    clearTimeout(due);
    due = setTimeout(show, wait);
  });

  // What a draft put back was typed before this page came.
  if ([...form.elements].some((one) => told.test(one.name) && "defaultValue" in one && one.value !== one.defaultValue)) show();
}
