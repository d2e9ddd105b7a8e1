// The page's habits hold: each rule that a careless line would break is seen to fire.

import assert from "node:assert/strict";
import { join } from "node:path";
import { test } from "node:test";
import { ESLint } from "eslint";
import { root } from "./lib/places.mjs";

const lint = new ESLint({
    cwd: root,
    overrideConfigFile: join(root, "tests", "page", "eslint.config.js"),
});

/** The rules that a piece of script breaks, as if it stood at a path of the page. */
async function broken(code, filePath) {
    const [result] = await lint.lintText(code, { filePath: join(root, filePath) });
    return result.messages.map(({ ruleId }) => ruleId);
}

const cases = [
    ["markup from text", "export const f = (e, t) => { e.innerHTML = t; };", "no-restricted-syntax"],
    [
        "markup inserted",
        'export const f = (e, t) => e.insertAdjacentHTML("beforeend", t);',
        "no-restricted-syntax",
    ],
    ["code from text", "export const f = (t) => new Function(t);", "no-new-func"],
    ["a name nobody declared", "export const f = () => sensor;", "no-undef"],
    ["loose equality", "export const f = (a) => a == 1;", "eqeqeq"],
    ["methods newer than the floor", "export const f = (a) => a.toSorted();", "no-restricted-properties"],
    ["a forgotten console", "console.log(1);", "no-console"],
];

for (const [what, code, rule] of cases) {
    test(`${what} is refused`, async () => {
        assert.deepEqual(await broken(code, "www/app/x.js"), [rule]);
    });
}

test("the worker knows no document, and the page does", async () => {
    const code = "export const title = () => document.title;";
    assert.deepEqual(await broken(code, "www/worker/x.js"), ["no-undef"]);
    assert.deepEqual(await broken(code, "www/app/x.js"), []);
});

test("a function of 61 lines is refused, one of 60 is not", async () => {
    const body = (lines) => `export function f() {\n${"// a\n".repeat(lines - 2)}}\n`;
    assert.deepEqual(await broken(body(61), "www/app/x.js"), ["max-lines-per-function"]);
    assert.deepEqual(await broken(body(60), "www/app/x.js"), []);
});
