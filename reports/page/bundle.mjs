// Bundles the page: bundle.mjs SOURCES FOLDER. Reads FOLDER/evaluator.js and FOLDER/node_modules, writes
// FOLDER/shell.html: the shell with style and script inside, and a policy that lets this script run and no other.
import {createHash} from "node:crypto";
import {readFileSync, writeFileSync} from "node:fs";
import {createRequire} from "node:module";
import {join} from "node:path";

const [sources, folder] = process.argv.slice(2);
const esbuild = createRequire(join(folder, "package.json"))("esbuild");

/** The licences of what is inside ask that their notices come along. */
const notice = ["echarts/NOTICE", "echarts/LICENSE", "zrender/LICENSE", "tslib/CopyrightNotice.txt"]
    .map(name => readFileSync(join(folder, "node_modules", name), "utf8").trim().replace(/\r/g, "").replaceAll("*/", "* /"));
const built = await esbuild.build({
    entryPoints: [join(sources, "main.ts"), join(sources, "page.css")],
    outdir: folder,
    bundle: true,
    write: false,
    minify: true,
    format: "iife",
    target: ["es2022"],
    charset: "utf8",
    legalComments: "none",
    banner: {js: `/*\nThis page holds Apache ECharts, ZRender and tslib.\n\n${notice.join("\n\n")}\n*/`},
    define: {"process.env.NODE_ENV": "\"production\""},
    alias: {"deckle-evaluator": join(folder, "evaluator.js")},
    nodePaths: [join(folder, "node_modules")],
});
const text = ending => built.outputFiles.find(file => file.path.endsWith(ending)).text.trim();
const script = text(".js");
const digest = createHash("sha256").update(script, "utf8").digest("base64");
const pieces = {POLICY: digest, STYLE: text(".css"), SCRIPT: script};
const shell = readFileSync(join(sources, "shell.html"), "utf8");
writeFileSync(join(folder, "shell.html"), shell.replace(/@(POLICY|STYLE|SCRIPT)@/g, (_, name) => pieces[name]));
