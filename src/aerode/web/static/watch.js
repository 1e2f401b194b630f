// What tells the windows of one browser of changes: a stream for a few of them, a question every other second for the rest.
// A browser keeps six connections to one place (HTTP/1.1), and a stream holds one for as long as it is open.
const STREAMS = 3; // windows of one browser that hold a stream at once
const PAUSE = 2000; // between two questions, in ms
const PATIENCE = 30; // questions before a stream that was refused is tried again

// One of the few places of a stream, or null; the answer lets go of it. A closed window lets go by itself.
function place(number) {
  return new Promise((done) => {
    navigator.locks.request(`aerode stream ${number}`, { ifAvailable: true }, (lock) => {
      if (!lock) { done(null); return undefined; }
      return new Promise((free) => done(free));
    }).catch(() => done(null));
  });
}

async function anyPlace() {
  if (!navigator.locks) return () => {}; // not over plain HTTP from another device: a phone shows one window at a time
  for (let number = 0; number < STREAMS; number += 1) {
    const free = await place(number);
    if (free) return free;
  }
  return null;
}

// Tell of the state of one run: `hear.state(digest)` at each change, `hear.closed()` once it is closed. Returns what ends it.
export function watch(where, hear) {
  let ended = false, stream = null, free = null, timer = 0, refused = 0;

  function letGo() {
    stream?.close();
    free?.();
    stream = free = null;
  }

  function told(now) {
    if (ended) return;
    if (now.finished) { end(); hear.closed(); } else hear.state(now.state);
  }

  async function ask() {
    try {
      const answer = await fetch(where.state, { headers: { accept: "application/json" } });
      if (answer.ok) told(await answer.json());
    } catch { /* nobody answered: it is asked again */ }
  }

  function open() {
    stream = new EventSource(where.stream);
    stream.addEventListener("reading", (event) => told(JSON.parse(event.data)));
    stream.addEventListener("closed", () => told({ finished: true }));
    stream.addEventListener("error", () => {
      if (ended || stream?.readyState !== EventSource.CLOSED) return; // the browser opens it again by itself
      letGo(); // refused: too many are open
      refused = PATIENCE;
      turn();
    });
  }

  async function turn() {
    const got = refused > 0 ? null : await anyPlace();
    if (ended) { got?.(); return; }
    if (got) { free = got; open(); return; }
    refused = Math.max(0, refused - 1);
    await ask();
    if (!ended) timer = setTimeout(turn, PAUSE);
  }

  function end() {
    ended = true;
    clearTimeout(timer);
    letGo();
  }

  turn();
  return end;
}
