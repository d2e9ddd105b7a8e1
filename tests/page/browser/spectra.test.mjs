// A filter put in: both traces and both spectra in one figure, and both follow a number that is typed.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { downloaded } from "../lib/files.mjs";
import { openDemo } from "../lib/real.mjs";
import { picture, remark, settled, takePlate, type } from "../lib/read.mjs";

const { browser, server } = await begun();

/** What the plate draws: the numbers of each line, by panel and name. */
async function drawn(page) {
    const saved = await downloaded(page, () =>
        page.getByRole("button", { name: "Save the numbers of the figure as CSV" }).click(),
    );
    const lines = new Map();
    for (const row of saved.bytes.toString("utf8").split(/\r?\n/)) {
        if (row.startsWith("#") || row.startsWith("panel,") || row === "") continue;
        const [panel, series, x, , y] = row.split(",");
        const name = `${panel}: ${series}`;
        lines.set(name, [...(lines.get(name) ?? []), [x, Number(y)]]);
    }
    return lines;
}

/** The mean size of a line's steps, which a smoother line has smaller. */
function roughness(line) {
    const steps = line.slice(1).map(([, y], k) => Math.abs(y - line[k][1]));
    return steps.reduce((sum, one) => sum + one, 0) / steps.length;
}

/** The first value of a spectrum at this period, hours, or a shorter one. */
const at = (line, hours) => line.find(([x]) => Number(x) >= 1 / (3600 * hours))[1];

test("a filter shows both traces and both spectra, and a cutoff typed changes what it leaves", async () => {
    const seen = await openDemo(browser, server);
    const { page } = seen;
    await page.selectOption("#add-step", "filter");
    await page.getByRole("button", { name: "Put it in" }).click();
    await page.waitForSelector("#step-filter-remark:not(:empty)", { timeout: 30_000 });
    await settled(page);
    await takePlate(page, "filter", "before-after");
    const early = { picture: await picture(page), lines: await drawn(page), words: await remark(page, "filter") };
    const [wasTrace, isTrace, wasSpectrum, isSpectrum] =
        ["X: X before", "X: X", "spectrum: before", "spectrum: after"];
    for (const name of [wasTrace, isTrace, wasSpectrum, isSpectrum]) {
        assert.ok(early.lines.get(name)?.length > 20, `${name} among ${[...early.lines.keys()]}`);
    }
    assert.ok(roughness(early.lines.get(isTrace)) < roughness(early.lines.get(wasTrace)));
    assert.ok(at(early.lines.get(isSpectrum), 0.5) < 0.1 * at(early.lines.get(wasSpectrum), 0.5));

    await type(page, "filter", "period_min", "720");
    const late = { picture: await picture(page), lines: await drawn(page), words: await remark(page, "filter") };
    assert.notEqual(late.picture, early.picture);
    assert.match(late.words, /A wave of 12 h comes through at 70\.7/);
    assert.notDeepEqual(late.lines.get(isTrace), early.lines.get(isTrace));
    assert.ok(at(late.lines.get(isSpectrum), 4) < 0.1 * at(early.lines.get(isSpectrum), 4));
    // The spectra are of the samples that both share: fewer near the ends for a slower filter.
    assert.notDeepEqual(late.lines.get(wasSpectrum), early.lines.get(wasSpectrum));
    await seen.close();
});
