// The log and an observatory's record dropped together: the comparison, its figure, and the storms beside it.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, assertSameOrigin, visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { demoData } from "../lib/places.mjs";
import { remark, results, settled, takePlate } from "../lib/read.mjs";
import { openDemo } from "../lib/real.mjs";

const FILES = ["tern-skerry-10-days.csv", "tern-skerry-turning.csv", "kelda-head-reference-10-days.min"];

const { browser, server } = await begun();

test("log and reference dropped together are compared, and the comparison's figure is saved", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    const files = await Promise.all(
        FILES.map(async (name) => ({ name, bytes: await readFile(join(demoData, name)) })),
    );
    await drop(page, "main", files);
    await page.waitForSelector("#step-compare .results dd", { timeout: 60_000 });
    await settled(page);
    const uses = await page.$$eval(".entry__name", (all) => all.map((one) => one.textContent ?? ""));
    assert.ok(uses.some((text) => /kelda.*, the reference/.test(text)), uses.join("; "));
    const told = (await remark(page, "compare")) ?? "";
    assert.match(told, /Kelda Head/);
    const found = await results(page, "compare");
    console.log(found.map((row) => `    ${row.join(": ")}`).join("\n"));
    assert.ok(found.some(([name]) => /^X station less reference$/.test(name)), "X is compared");
    assert.ok(found.some(([name]) => name === "Lag"), "the lag is told");
    const figure = await page.$eval("#step-compare .step__plates [data-figure]", (one) => one.dataset.figure);
    await takePlate(page, "compare", figure);
    const saved = await downloaded(page, () =>
        page.getByRole("button", { name: "Save the figure as SVG" }).click(),
    );
    const svg = saved.bytes.toString("utf8");
    assert.match(svg, /^<svg [^>]*width="170mm"/);
    assert.match(svg, /Kelda Head/);
    assert.match(svg, /<text/);
    assertSameOrigin(seen, server.origin);
    assertQuiet(seen);
    await seen.close();
});

test("the figures of the days tell what is quiet, not resolved and to be seen, each with its numbers", async () => {
    const seen = await openDemo(browser, server);
    const { page } = seen;
    const name = FILES.at(-1);
    await drop(page, "main", [{ name, bytes: await readFile(join(demoData, name)) }]);
    await page.waitForSelector("#step-compare .results dd", { timeout: 60_000 });
    await settled(page);
    const expected = [
        ["quiet-day", "day-stack", /local noons in line/, /Quiet: \d/, / Q \//],
        ["k-index", "k-index", /not the planetary index/, /not resolved/, /not resolved/],
        ["k-index", "sight", /common practice, no source/, /A single wave must be larger than/, /series/],
        ["storms", "storm-1", /phases shaded/, /nT\/min/, /change|station/],
    ];
    for (const [step, figure, caption, words, head] of expected) {
        await takePlate(page, step, figure);
        assert.match((await page.textContent(".plate__caption")) ?? "", caption, figure);
        assert.match((await page.textContent("figcaption .plate__words")) ?? "", words, figure);
        await page.locator(".plate details", { hasText: "The numbers" }).evaluate((one) => {
            one.open = true;
        });
        await page.waitForSelector(".plate table caption");
        const heads = await page.$$eval(".plate thead th", (all) => all.map((one) => one.textContent ?? ""));
        assert.ok(heads.some((text) => head.test(text)), `${figure}: ${heads.join("; ")}`);
    }
    assertQuiet(seen);
    await seen.close();
});
