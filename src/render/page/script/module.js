// The library itself: a WebAssembly module that takes a question as JSON and gives an answer. Everything that is
// said or drawn on this page comes from it; this script asks, and puts the pieces in their places.
const Module = (() => {
  let exports = null;

  const bytes = () => {
    const text = atob(document.getElementById("module").textContent.trim());
    const packed = new Uint8Array(text.length);
    for (let i = 0; i < text.length; i++) packed[i] = text.charCodeAt(i);
    return packed;
  };

  const load = async () => {
    const unpacked = new Blob([bytes()]).stream().pipeThrough(new DecompressionStream("gzip"));
    const code = await new Response(unpacked).arrayBuffer();
    exports = (await WebAssembly.instantiate(code)).instance.exports;
  };

  // What was asked last, and what was answered: `{ok}` or `{error, findings}`.
  const answer = (question) => {
    const text = new TextEncoder().encode(JSON.stringify(question));
    const room = exports.tautmark_room(text.length);
    // The memory may have grown, and an older view of it is of no use.
    new Uint8Array(exports.memory.buffer).set(text, room);
    const there = exports.tautmark_answer(room, text.length);
    const at = Number(there >> 32n);
    const length = Number(there & 0xffffffffn);
    const said = new TextDecoder().decode(new Uint8Array(exports.memory.buffer, at, length));
    exports.tautmark_free(at, length);
    return JSON.parse(said);
  };

  // The answer, or an exception with the reason.
  const ask = (what, about) => {
    const answered = answer({ ask: what, ...about });
    if ("ok" in answered) return answered.ok;
    const error = new Error(answered.error);
    error.findings = answered.findings;
    throw error;
  };

  return { load, ask };
})();
