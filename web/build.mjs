// Makes the views that ship inside the package: node build.mjs [--check]
// --check builds without writing and fails if what is shipped differs from its source.
import { build } from "esbuild";
import { readFile } from "node:fs/promises";
import path from "node:path";
import { fileURLToPath } from "node:url";

const here = path.dirname(fileURLToPath(import.meta.url));
const check = process.argv.includes("--check");
const result = await build({
  entryPoints: ["part", "grid", "trial"].map((name) => path.join(here, "src", `${name}.js`)),
  outdir: path.join(here, "..", "fitkit", "widgets", "static"),
  bundle: true,
  format: "esm",
  target: "es2022",
  minify: true,
  charset: "utf8",
  legalComments: "eof", // the licence notice of what is bundled stays in the file
  loader: { ".css": "text" },
  banner: { js: "// Built from web/src by web/build.mjs; change it there." },
  write: !check,
});
if (check) {
  const stale = [];
  for (const file of result.outputFiles) {
    const shipped = await readFile(file.path, "utf8").catch(() => "");
    if (shipped !== file.text) stale.push(path.basename(file.path));
  }
  if (stale.length) {
    console.error(`not as built from web/src: ${stale.join(", ")}; run: node web/build.mjs`);
    process.exit(1);
  }
}
