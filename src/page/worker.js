// Runs in the worker, after the loader that emscripten wrote: turns messages into calls of the core.
// A message is {id, op, json, bytes}; the answer {id, json, bytes} or {id, error: {kind, sentence}}.
let core = null;

async function start(compressed) {
  const stream = new Blob([compressed]).stream().pipeThrough(new DecompressionStream("gzip"));
  const wasmBinary = await new Response(stream).arrayBuffer();
  core = await mamelonCore({ wasmBinary, told: (done, step) => postMessage({ progress: done, step }) });
}

function call(op, json, bytes) {
  if (bytes) core.HEAPU8.set(new Uint8Array(bytes), core._mamelon_room(bytes.byteLength));
  // Texts go by the heap: a tab set is larger than the stack that ccall would take for it.
  const utf8 = new TextEncoder().encode(json);
  const at = core._malloc(utf8.length + 1);
  core.HEAPU8.set(utf8, at);
  core.HEAPU8[at + utf8.length] = 0;
  const ok = core.ccall("mamelon_call", "number", ["string", "number"], [op, at]);
  core._free(at);
  const text = core.UTF8ToString(core._mamelon_text());
  const size = core._mamelon_bytes_size();
  const out = size ? core.HEAPU8.slice(core._mamelon_bytes(), core._mamelon_bytes() + size).buffer : null;
  return { ok: ok === 1, text, out };
}

async function answer(data) {
  try {
    if (data.op === "start") {
      await start(data.bytes);
      return postMessage({ id: data.id, json: "{}" });
    }
    const { ok, text, out } = call(data.op, data.json, data.bytes);
    if (ok) postMessage({ id: data.id, json: text, bytes: out }, out ? [out] : []);
    else postMessage({ id: data.id, error: JSON.parse(text) });
  } catch (error) {
    const memory = error instanceof RangeError || /memory|OOM/i.test(String(error));
    postMessage({ id: data.id, error: { kind: memory ? "memory" : "core", sentence: String(error) }, fatal: true });
  }
}

// One at a time, in their order.
let last = Promise.resolve();
onmessage = ({ data }) => { last = last.then(() => answer(data)); };
