// Solves one MPS model with the npm package "highs" (HiGHS in WebAssembly) and
// prints one line of JSON. Arguments: model, gap (relative), limit (seconds).
const fs = require("fs");
const load = require("highs");

(async () => {
  const [path, gap, limit] = process.argv.slice(2);
  const highs = await load();
  const model = highs.createModel({ format: "mps", data: fs.readFileSync(path) });
  model.options.set("output_flag", false);
  model.options.set("mip_rel_gap", Number(gap));
  model.options.set("time_limit", Number(limit));
  const started = process.hrtime.bigint();
  model.run();
  const seconds = Number(process.hrtime.bigint() - started) / 1e9;
  const info = (name) => { try { return Number(model.info.get(name)); } catch { return null; } };
  console.log(JSON.stringify({
    version: highs.version.string,
    status: String(model.getModelStatus()),
    objective: info("objective_function_value"),
    bound: info("mip_dual_bound"),
    seconds,
  }));
})();
