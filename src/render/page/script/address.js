// What is shown, in the address, so that it can be shared and is there again after a reload:
// `#class?engine=kestrel-four&crank=35&slip=intake:-1`.
const Address = (() => {
  // A browser takes so many changes of the address and no more.
  const EVERY = 400;
  let waiting = null;
  let last = "";

  const read = () => {
    const [mode, rest] = location.hash.slice(1).split(/\?(.*)/s);
    return { mode, values: new URLSearchParams(rest || "") };
  };
  // Pairs of names and values; what is as it always begins is left out by whoever calls.
  const put = (mode, pairs) => {
    const values = new URLSearchParams(pairs).toString();
    last = `#${mode}${values ? `?${values}` : ""}`;
    waiting ??= setTimeout(flush, EVERY);
  };
  const flush = () => {
    if (waiting === null) return;
    clearTimeout(waiting);
    waiting = null;
    // Where it may not be changed the page works all the same.
    try { history.replaceState(null, "", last); } catch { /* it stays as it was */ }
  };
  // What waits belongs to the screen that is left.
  const forget = () => {
    clearTimeout(waiting);
    waiting = null;
  };
  addEventListener("pagehide", flush);
  return { read, put, flush, forget };
})();
