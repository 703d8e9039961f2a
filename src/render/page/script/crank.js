// The crankshaft: one place for everything that turns with it. It stands at a whole degree or a whole tooth from the timed
// position, and at a tenth of a degree while it runs; where anything is then, the module says.
const Crank = ({ last_turn: last, tooth }, moved) => {
  const TURN = 360;
  const RUNNING = 3600;
  let count = 0; // it stands `count / of` turns past the timed position
  let of = TURN;
  let base = 0; // the whole turns at which the slider begins: an even number, since a cycle has two
  let frame = null;
  let before = 0;
  let rest = 0; // of a tenth of a degree
  let speed = 10; // crank turns a minute

  const whole = (unit) => Math.floor(count * unit / of);
  const set = (to, unit) => {
    of = unit;
    count = Math.min(Math.max(to, 0), last * unit);
    if (count < base * unit || count > (base + 2) * unit) base = 2 * Math.floor(count / unit / 2);
    // At the end of all the slider has the cycle that leads there.
    if (base >= last && last >= 2) base = last - 2;
    moved();
  };
  // On or back to the next whole degree, tooth or quarter turn.
  const step = (unit, by) => {
    const between = count * unit % of !== 0;
    set(whole(unit) + by + (between && by < 0 ? 1 : 0), unit);
  };
  const run = (now) => {
    const went = (now - before) / 60000 * speed * RUNNING + rest;
    before = now;
    const tenths = Math.floor(went);
    rest = went - tenths;
    if (tenths > 0) set(whole(RUNNING) + tenths, RUNNING);
    if (count >= last * of) return stop();
    frame = requestAnimationFrame(run);
  };
  const start = () => {
    if (frame !== null) return;
    if (count >= last * of) set(0, TURN);
    rest = 0;
    before = performance.now();
    frame = requestAnimationFrame((now) => {
      before = Math.min(before, now);
      run(now);
    });
    moved();
  };
  const stop = () => {
    if (frame === null) return;
    cancelAnimationFrame(frame);
    frame = null;
    set(whole(TURN), TURN);
  };

  // In the address: degrees from the timed position, as a fraction where a tooth is none.
  const divisor = (a, b) => (b === 0 ? a : divisor(b, a % b));
  const written = () => {
    if (of === RUNNING) return String(whole(TURN));
    const by = divisor(count * TURN, of);
    return by === of ? String(count * TURN / of) : `${count * TURN / by}/${of / by}`;
  };
  const read = (text) => {
    const found = /^(\d{1,9})(?:\/(\d{1,3}))?$/.exec(text);
    if (!found) return false;
    const [top, bottom] = [Number(found[1]), Number(found[2] || 1)];
    const unit = [TURN, tooth ? tooth.teeth : TURN].find((each) => bottom > 0 && top * each % (TURN * bottom) === 0);
    if (unit === undefined || top > last * TURN * bottom) return false;
    set(top * unit / (TURN * bottom), unit);
    return true;
  };

  return {
    set, step, start, stop, written, read,
    turned: () => `${count}/${of}`,
    running: () => frame !== null,
    // For the slider: degrees from where it begins, and how many there are.
    slid: () => whole(TURN) - base * TURN,
    length: () => Math.min(2, last - base) * TURN,
    base: () => base,
    slide: (degrees) => set(base * TURN + degrees, TURN),
    // The same place in the cycle that begins at that turn; at the end of all no further.
    round: (turns) => set(count + (turns - base) * of, of),
    // So many whole turns on, the place in the turn as it is.
    turn: (by) => {
      const to = count + by * of;
      if (to >= 0 && to <= last * of) set(to, of);
    },
    can: (by) => count + by * of >= 0 && count + by * of <= last * of,
    speed: (turns) => { speed = turns; },
  };
};
