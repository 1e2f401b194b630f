// The run under way: the clock, taking a reading without a reload, and readings that a logger posts.
const live = document.querySelector("[data-live]");
let began = 0; // on the page's own clock, when the load was put on
let put = null; // the load of which a person said that it is on now: its clock is not the server's
let heard = ""; // the state of the run the stream told of last
let sending = 0; // acts on their way
let asking = null; // the look at the run that is under way; an act makes it stale
let unwatch = null; // ends what tells of changes; none while nobody sees the page
let watch = null; // as `watch.js` gives it

function field() { return document.querySelector("#reading"); }

function tell(words) { live.querySelector("[data-say]")?.prepend(words); }

function startClock() {
  const clock = live.querySelector("[data-clock]");
  if (!clock) return;
  clock.hidden = false;
  const load = live.querySelector("[data-take] [name=load]")?.value ?? "";
  if (load !== put) {
    put = null;
    began = performance.now() - 1000 * Number(clock.dataset.since);
  }
  const button = clock.querySelector("[data-on]");
  if (button && "fresh" in clock.dataset) {
    button.hidden = false;
    button.addEventListener("click", () => { began = performance.now(); put = load; tick(); field()?.focus(); });
  }
  tick();
}

function waited() { return Math.max(0, (performance.now() - began) / 1000); }

function planned(clock) { return "moments" in clock.dataset; }

// The next moment of the plan that is to come, later than a moment; after its last one, once a minute.
function nextMoment(clock, seconds) {
  const past = Math.max(seconds, Number(clock.dataset.noted)), last = Number(clock.dataset.last);
  const coming = clock.dataset.moments.split(" ").filter(Boolean).map(Number).find((one) => one > past);
  return coming ?? last + 60 * Math.max(1, Math.floor((past - last) / 60) + 1);
}

function tick() {
  const clock = live.querySelector("[data-clock]");
  if (!clock) return;
  const seconds = waited();
  const minutes = Math.floor(seconds / 60);
  const shown = minutes ? `${minutes} min ${String(Math.floor(seconds % 60)).padStart(2, "0")} s` : `${Math.floor(seconds)} s`;
  clock.querySelector("[data-seconds]").textContent = `${shown} on`;
  clock.classList.toggle("due", seconds >= (planned(clock) ? nextMoment(clock, 0) : 120));
  const next = clock.querySelector("[data-next]");
  if (next) next.textContent = planned(clock) ? `${clock.classList.contains("due") ? ": read it now" : ""}, next at ${nextMoment(clock, seconds)} s` : "";
  const left = live.querySelector("[data-left]");
  if (left) {
    const minutes = Number(left.dataset.after) + Math.max(0, Number(left.dataset.here) - seconds) / 60;
    left.textContent = minutes >= 1 ? `, about\u00a0${Math.round(minutes)}\u00a0min\u00a0left` : "";
  }
  for (const button of live.querySelectorAll("[data-note]")) button.textContent = `Note it at ${Math.floor(seconds)} s`; // what is kept is this clock's time
}

// Put the answer in the place of the page, part by part; what is being typed stays.
function show(html, keepTyped) {
  const fresh = new DOMParser().parseFromString(html, "text/html").querySelector("[data-live]");
  if (!fresh) return false;
  const typed = keepTyped ? field()?.value : "";
  const focused = document.activeElement === field();
  const load = () => live.querySelector("[data-take] [name=load]")?.value;
  const before = load();
  live.dataset.state = fresh.dataset.state;
  const opened = new Set([...live.querySelectorAll("details[open] > summary")].map((one) => one.textContent));
  for (const one of fresh.querySelectorAll("[autofocus]")) one.removeAttribute("autofocus"); // the focus is put below
  for (const part of fresh.querySelectorAll("[data-part]")) {
    const old = live.querySelector(`[data-part="${part.dataset.part}"]`);
    if (!old) continue;
    const inUse = keepTyped && part.dataset.part !== "step" && old.contains(document.activeElement);
    if (!inUse) old.replaceWith(document.importNode(part, true));
  }
  for (const summary of live.querySelectorAll("[data-part=curve] summary, [data-part=trace] summary, [data-part=reach] summary")) {
    if (opened.has(summary.textContent)) summary.parentElement.open = true;
  }
  if (typed && field() && load() === before) field().value = typed;
  else if (typed) tell(`${before || "This load"} was read meanwhile; the “${typed}” you were typing was not taken. `);
  if (focused) field()?.focus();
  startClock();
  document.dispatchEvent(new Event("aerode:drawn"));
  return true;
}

live.addEventListener("submit", async (event) => {
  const form = event.target;
  const clock = form.elements.namedItem("waited");
  if (clock && !("fixed" in clock.dataset && clock.value)) clock.value = waited().toFixed(1);
  if (form.closest("[data-part]")?.dataset.part !== "step") return; // sent the plain way
  const sent = new FormData(form, event.submitter);
  if (sent.get("act") === "finish") return;
  event.preventDefault();
  const buttons = form.querySelectorAll("button");
  for (const button of buttons) button.disabled = true;
  sending += 1;
  asking?.abort(); // what it would show is from before this act
  try {
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(sent) });
    if (!show(await answer.text(), false)) { location.assign(answer.url); return; }
    live.querySelector(answer.ok ? "[data-part=step] h1" : "#wrong")?.scrollIntoView({ block: "start" }); // the next step, or the question, in view
    field()?.focus({ preventScroll: true });
    if (!answer.ok) field()?.select();
  } catch {
    tell("The computer did not answer; what you typed is still here. Press again. ");
    for (const button of buttons) button.disabled = false;
  } finally {
    sending -= 1;
  }
  refresh();
});

// Look at the run again where the stream told of another state than is shown: one look at a time, none while an act is on its way.
async function refresh() {
  if (heard === live.dataset.state) heard = ""; // shown already: what is said of the act stays
  if (sending || asking || !heard) return;
  const told = heard;
  const mine = new AbortController();
  asking = mine;
  try {
    const answer = await fetch(live.dataset.live, { signal: mine.signal });
    const html = await answer.text();
    if (!mine.signal.aborted && !show(html, true)) location.reload();
  } catch { /* an act came between, or nobody answered: the stream tells again */ } finally {
    asking = null;
  }
  if (heard === told) heard = ""; // seen, or older than what is shown
  refresh();
}

// A browser keeps few connections to one place: a page that nobody sees holds none. Once it is seen again, the stream tells where the run stands.
function listen() {
  if (document.visibilityState === "hidden") {
    unwatch?.();
    unwatch = null;
    return;
  }
  if (unwatch) return;
  unwatch = watch({ stream: live.dataset.stream, state: live.dataset.standing }, {
    state(digest) { heard = digest; refresh(); },
    closed() { location.replace(live.dataset.live); },
  });
}

// What was said of the last act is said once: a page that is loaded again does not repeat it.
if (location.search.includes("said=")) history.replaceState(null, "", location.pathname);

if (live) {
  startClock();
  setInterval(tick, 500);
  ({ watch } = await import(live.dataset.watch));
  listen();
  document.addEventListener("visibilitychange", listen);
}
