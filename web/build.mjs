// Makes the views that ship inside the package: node build.mjs [--check]
// --check builds without writing and fails if what is shipped differs from its source.
import { readdir, readFile } from "node:fs/promises";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

const here = path.dirname(fileURLToPath(import.meta.url));
const rooms = path.join(here, "..", "fitkit");
const check = process.argv.includes("--check");
const notice = "Built from web/src by web/build.mjs; change it there.";
const bundle = (folder, names, format) =>
  build({
    // The style is a file of its own, which the page takes in once for all views.
    entryPoints: names.map((name) => path.join(here, "src", name)),
    outdir: path.join(rooms, folder),
    bundle: true,
    format,
    target: "es2022",
    minify: true,
    charset: "utf8",
    legalComments: "eof", // the licence notice of what is bundled stays in the file
    banner: { js: `// ${notice}`, css: `/* ${notice} */` },
    write: !check,
  });
const places = [
  ["widgets/static", ["part.ts", "grid.ts", "trial.ts", "fitkit.css"], "esm"],
  ["export/static", ["view.ts", "fitkit.css"], "iife"], // a page of one file
];
const stale = [];
for (const [folder, names, format] of places) {
  const result = await bundle(folder, names, format);
  if (!check) continue;
  for (const file of result.outputFiles) {
    const there = await readFile(file.path, "utf8").catch(() => "");
    if (there !== file.text) stale.push(path.join(folder, path.basename(file.path)));
  }
  const made = new Set(result.outputFiles.map((file) => path.basename(file.path)));
  const others = (await readdir(path.join(rooms, folder))).filter((name) => !made.has(name));
  stale.push(...others.map((name) => path.join(folder, name)));
}
if (stale.length) {
  console.error(`not as built from web/src: ${stale.join(", ")}; run: node web/build.mjs`);
  process.exit(1);
}
