// How long ago the piece was weighed, counted while the page stands open: the gate wants ten minutes or more, a coarse scale longer.
const since = document.querySelector("#since");
const last = Date.parse(since?.dataset.last ?? "");
if (since && !Number.isNaN(last)) {
  const gate = Number(since.dataset.wait) || 10;
  const show = () => {
    const minutes = Math.max(0, Math.floor((Date.now() - last) / 60000));
    const wait = gate - minutes;
    since.textContent = wait > 0
      ? `Last weighed ${minutes} min ago; wait ${wait} min more, then weigh again.`
      : `Last weighed ${minutes < 120 ? `${minutes} min` : "some hours"} ago: weigh it now.`;
    since.hidden = false;
  };
  show();
  setInterval(show, 20000);
}
