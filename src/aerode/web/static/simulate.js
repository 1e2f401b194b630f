// Asks again while the fields change; without this, the button does it. The address follows, so that
// reloading and going back show what was asked.
const form = document.querySelector("form[data-live]");
const WAIT = 500;
const AGAIN = 1500;
let timer = 0;
let asking = null;
const SIGN = 600;

// An answer that takes its time says so at once and counts, whatever it is waiting for.
function working(outcome) {
  const begun = Date.now();
  const line = document.createElement("p");
  line.className = "working";
  line.setAttribute("role", "status");
  const bar = document.createElement("progress");
  const words = document.createElement("span");
  line.append(words, " ", bar);
  const counting = setInterval(() => {
    const seconds = Math.floor((Date.now() - begun) / 1000);
    if (Date.now() - begun < SIGN) return;
    words.textContent = `Working it out: ${seconds} s so far.${seconds < 4 ? "" : " The first answer after a start takes longest."}`;
    if (!line.isConnected) outcome.before(line);
  }, 200);
  return () => {
    line.remove();
    clearInterval(counting);
  };
}

function query() {
  const filled = [...new FormData(form)].filter(([, text]) => text.trim() !== "");
  return new URLSearchParams(filled).toString();
}

async function ask() {
  asking?.abort();
  asking = new AbortController();
  const outcome = document.querySelector("#outcome");
  const place = `/simulate?${query()}`;
  let done = () => {};
  if (!outcome.querySelector("[data-again]")) {
    outcome.setAttribute("aria-busy", "true");
    done = working(outcome);
  }
  try {
    const answer = await fetch(place, { signal: asking.signal });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const found = page.querySelector("#outcome");
    if (found) {
      outcome.replaceChildren(...[...found.childNodes].map((node) => document.importNode(node, true)));
      history.replaceState(null, "", place);
      again();
    }
    outcome.removeAttribute("aria-busy");
  } catch (problem) {
    if (problem.name !== "AbortError") outcome.removeAttribute("aria-busy");
  } finally {
    done();
  }
}

// While the solver is being made ready, the page says how far it is and asks again by itself.
function again() {
  if (!document.querySelector("#outcome [data-again]")) return;
  clearTimeout(timer);
  timer = setTimeout(ask, AGAIN);
}

function complete() {
  const told = new FormData(form);
  return [1, 2, 3].some((k) => told.get(`how${k}`)?.trim()) || (told.get("vary") && told.get("low") && told.get("high"));
}

form?.addEventListener("input", () => {
  clearTimeout(timer);
  if (complete()) timer = setTimeout(ask, WAIT);
});

// The button asks the same way: with a sign that it is being worked out, and without a new page.
form?.addEventListener("submit", (event) => {
  if (!complete()) return;
  event.preventDefault();
  clearTimeout(timer);
  document.querySelector("#outcome")?.scrollIntoView({ block: "start" });
  ask();
});

again();
