// Runs calls of the page's core under node: run_core.js FOLDER JOBS.json, where FOLDER holds the
// loader and the module, and JOBS is a list of [operation, values, file or null, file for bytes or null].
// Prints the answers as a list.
const fs = require("fs");
const [folder, jobs] = process.argv.slice(2);

// Time of the processor, whatever else the machine does.
function spent(before) {
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1000;
}

require(folder + "/mamelon_core.js")({ wasmBinary: fs.readFileSync(folder + "/mamelon_core.wasm") }).then((core) => {
  const answers = JSON.parse(fs.readFileSync(jobs, "utf8")).map(([operation, values, file, out]) => {
    const before = process.cpuUsage();
    if (file) {
      const bytes = fs.readFileSync(file);
      core.HEAPU8.set(bytes, core._mamelon_room(bytes.length));
    }
    const utf8 = Buffer.from(JSON.stringify(values) + "\0");
    const at = core._malloc(utf8.length);
    core.HEAPU8.set(utf8, at);
    const ok = core.ccall("mamelon_call", "number", ["string", "number"], [operation, at]);
    core._free(at);
    const size = core._mamelon_bytes_size();
    if (out) fs.writeFileSync(out, Buffer.from(core.HEAPU8.subarray(core._mamelon_bytes(), core._mamelon_bytes() + size)));
    return { ok: ok === 1, cpu_ms: spent(before), answer: JSON.parse(core.UTF8ToString(core._mamelon_text())) };
  });
  console.log(JSON.stringify(answers));
});
