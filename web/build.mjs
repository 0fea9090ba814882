// Bundles the pages' scripts and styles into dist/, with manifest.json telling each file's name by its entry.
import { build } from "esbuild";
import { existsSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

const ENTRIES = {
  site: "src/site.ts",
  upload: "src/upload/index.ts",
  lesson: "src/lesson/index.ts",
  maneuver: "src/maneuver/index.ts",
  book: "src/book/index.ts",
  beside: "src/beside/index.ts",
  "ground-lesson": "src/ground-lesson/index.ts",
};

const result = await build({
  entryPoints: ENTRIES,
  bundle: true,
  splitting: true,
  minify: true,
  format: "esm",
  target: "es2022",
  outdir: "dist",
  entryNames: "[name]-[hash]",
  chunkNames: "part-[hash]",
  assetNames: "[name]-[hash]",
  loader: { ".woff2": "file" },
  legalComments: "none",
  metafile: true,
});

// The file that is handed out holds everything in itself: one script, one style sheet, fonts within.
await build({
  entryPoints: { handout: "src/maneuver/handout.ts" },
  bundle: true,
  minify: true,
  format: "iife",
  target: "es2022",
  outdir: "dist",
  loader: { ".woff2": "dataurl" },
  legalComments: "none",
});

const manifest = {};
for (const [path, output] of Object.entries(result.metafile.outputs)) {
  const name = Object.keys(ENTRIES).find((each) => output.entryPoint === ENTRIES[each]);
  if (name === undefined) continue;
  manifest[`${name}.js`] = path.slice("dist/".length);
  if (output.cssBundle !== undefined) manifest[`${name}.css`] = output.cssBundle.slice("dist/".length);
}
writeFileSync("dist/manifest.json", JSON.stringify(manifest, null, 2) + "\n");
writeFileSync("dist/LICENSES.txt", licenses(Object.keys(result.metafile.inputs)));

// The license text of every package that has a file in the bundle.
function licenses(inputs) {
  const found = new Set();
  for (const path of inputs) {
    const match = path.match(/node_modules\/((?:@[^/]+\/)?[^/]+)/);
    if (match) found.add(match[1]);
  }
  return [...found].sort().map(licenseOf).join("\n\n");
}

function licenseOf(name) {
  const folder = join("node_modules", name);
  const { version } = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  const file = readdirSync(folder).find((each) => /^licen[cs]e/i.test(each));
  const text = file && existsSync(join(folder, file)) ? readFileSync(join(folder, file), "utf8") : "";
  return `${name} ${version}\n\n${text}`;
}
