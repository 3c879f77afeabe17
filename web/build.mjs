// Makes the views that ship inside the package: node build.mjs [--check]
// --check builds without writing and fails if what is shipped differs from its source.
import { readdir, readFile } from "node:fs/promises";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

const here = path.dirname(fileURLToPath(import.meta.url));
const shipped = path.join(here, "..", "fitkit", "widgets", "static");
const check = process.argv.includes("--check");
const notice = "Built from web/src by web/build.mjs; change it there.";
const result = await build({
  // The style is a file of its own, which the page takes in once for all views.
  entryPoints: ["part.ts", "grid.ts", "trial.ts", "fitkit.css"].map((name) =>
    path.join(here, "src", name),
  ),
  outdir: shipped,
  bundle: true,
  format: "esm",
  target: "es2022",
  minify: true,
  charset: "utf8",
  legalComments: "eof", // the licence notice of what is bundled stays in the file
  banner: { js: `// ${notice}`, css: `/* ${notice} */` },
  write: !check,
});
if (check) {
  const stale = [];
  for (const file of result.outputFiles) {
    const there = await readFile(file.path, "utf8").catch(() => "");
    if (there !== file.text) stale.push(path.basename(file.path));
  }
  const made = new Set(result.outputFiles.map((file) => path.basename(file.path)));
  stale.push(...(await readdir(shipped)).filter((name) => !made.has(name)));
  if (stale.length) {
    console.error(`not as built from web/src: ${stale.join(", ")}; run: node web/build.mjs`);
    process.exit(1);
  }
}
