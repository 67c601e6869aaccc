// How the page is built: its types hold, and its lock file pins versions and digests but names no place to fetch from.
import assert from "node:assert/strict";
import {readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {BROWSER, SOURCE, deckle, load, run, study} from "./support.mjs";
import {spawnSync} from "node:child_process";

await run({
    "the lock file has digests and no download addresses"() {
        const text = readFileSync(join(SOURCE, "reports/page/package-lock.json"), "utf8");
        assert.doesNotMatch(text, /:\/\//); // an address anywhere has these
        const {packages, lockfileVersion} = JSON.parse(text);
        assert.equal(lockfileVersion, 3);
        for (const [name, one] of Object.entries(packages)) if (name !== "") assert.match(one.integrity, /^sha512-/, name);
    },

    "versions are exact"() {
        const {dependencies, devDependencies} = JSON.parse(readFileSync(join(SOURCE, "reports/page/package.json"), "utf8"));
        for (const version of Object.values({...dependencies, ...devDependencies})) assert.match(version, /^\d+\.\d+\.\d+$/);
    },

    "the types of the sources hold"() {
        const path = join(BROWSER, "tsconfig.json");
        writeFileSync(path, JSON.stringify({
            compilerOptions: {target: "ES2022", module: "ESNext", moduleResolution: "bundler", lib: ["ES2022", "DOM", "DOM.Iterable"], strict: true,
                noUncheckedIndexedAccess: true, noUnusedLocals: true, noUnusedParameters: true, noImplicitReturns: true, noEmit: true, skipLibCheck: true, types: [],
                paths: {"echarts/*": ["./node_modules/echarts/*"]}},
            include: [join(SOURCE, "reports/page/*.ts")],
        }));
        const done = spawnSync(process.execPath, [load.resolve("typescript/bin/tsc"), "-p", path], {encoding: "utf8"});
        assert.equal(done.status, 0, done.stdout);
    },

    "the page says what it rests on: notices of its packages are kept"() {
        const {out} = deckle("page", study("worked_example"), "--draws", "none");
        for (const part of ["The Apache Software Foundation", "Apache License", "Copyright (c) 2017, Baidu Inc."]) assert.ok(out.includes(part), part);
    },

    "the same study gives the same bytes"() {
        assert.equal(deckle("page", study("worked_example")).out, deckle("page", study("worked_example")).out);
    },
});
