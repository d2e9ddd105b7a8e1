// The main job on the real engine: logs in, truth out, an edit, and files that a replay agrees with.

import assert from "node:assert/strict";
import { mkdtemp, readFile, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, assertSameOrigin, visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { demoData } from "../lib/places.mjs";
import { readPng } from "../lib/png.mjs";
import {
    choose, picture, remark, replay, result, results, rows, settled, takePlate, truth, type,
} from "../lib/read.mjs";

const LOG = "tern-skerry-10-days.csv";
const TURNING = "tern-skerry-turning.csv";
const DAY_LINE = /^(.*), period (24 h|23 h 5\d min|24 h \d min)$/;

const { browser, server } = await begun();

const log = async (name) => ({ name, bytes: await readFile(join(demoData, name)) });

/** The page with the ten-day log and the turning dropped on it, and the notebook typed in. */
async function dropped() {
    const seen = await visit(browser, server.url);
    await drop(seen.page, "main", [await log(LOG), await log(TURNING)]);
    await seen.page.waitForSelector("#step-elements .results dd", { timeout: 60_000 });
    await settled(seen.page);
    const { station, stand } = await truth("tern-skerry-10-days");
    const on = seen.page.locator("#step-station input[type=checkbox]");
    if (!(await on.isChecked())) {
        await on.click();
        await settled(seen.page);
    }
    await type(seen.page, "station", "latitude", String(station.latitude_deg));
    await type(seen.page, "station", "longitude", String(station.longitude_deg));
    await type(seen.page, "station", "height", String(station.height_m));
    await choose(seen.page, "calibrate", "scale", "model");
    await choose(seen.page, "orient", "north", "azimuth");
    await type(seen.page, "orient", "azimuth", String(stand.notebook_azimuth_deg));
    await type(seen.page, "orient", "azimuth_sigma", String(stand.notebook_azimuth_sigma_deg));
    return seen;
}

/** The demo of sixty days, all steps run. */
async function demo() {
    const seen = await visit(browser, `${server.url}#demo`);
    await seen.page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(seen.page);
    return seen;
}

function assertWithin(found, wanted, what) {
    const { value, sigma } = found;
    assert.ok(sigma > 0, `${what} has no uncertainty: ${value}`);
    const off = Math.abs(value - wanted) / sigma;
    assert.ok(off <= 3, `${what}: ${value} ± ${sigma}, in truth ${wanted}, ${off.toFixed(1)} sigma off`);
}

/** What the page shows against what the invented logs were made from. */
async function assertTrue(page, name) {
    const turning = await truth("tern-skerry-turning");
    const { field } = await truth(name);
    for (const [k, axis] of ["x", "y", "z"].entries()) {
        const wanted = 1000 * turning.sensor.offset_during_turning_ut[k];
        assertWithin(await result(page, "calibrate", `Offset ${axis} (hard iron)`), wanted, axis);
    }
    const { mean } = field;
    assertWithin(await result(page, "elements", "Total field F"), mean.total_nt, "F");
    assertWithin(await result(page, "elements", "Inclination I"), mean.inclination_deg, "I");
    assertWithin(await result(page, "elements", "Declination D"), mean.declination_deg, "D");
}

/** The magnetic heading of the x arrow, by the azimuth it truly had. */
async function assertHeading(page, name) {
    const { field, stand } = await truth(name);
    const wanted = stand.first.azimuth_deg - field.mean.declination_deg;
    assertWithin(await result(page, "elements", "Magnetic heading"), wanted, "heading");
}

test("dropped logs give offsets, field and angles within three sigmas of the truth", async () => {
    const seen = await dropped();
    await assertTrue(seen.page, "tern-skerry-10-days");
    await assertHeading(seen.page, "tern-skerry-10-days");
    assertSameOrigin(seen, server.origin);
    assertQuiet(seen);
    await seen.close();
});

test("the demo shows the truth of sixty days and the line of the day", async () => {
    const seen = await demo();
    await assertTrue(seen.page, "tern-skerry-60-days");
    await assertHeading(seen.page, "tern-skerry-60-days");
    const lines = (await results(seen.page, "spectrum")).filter(([name]) => DAY_LINE.test(name));
    assert.ok(lines.length > 0, "no line at 24 h");
    assertSameOrigin(seen, server.origin);
    assertQuiet(seen);
    await seen.close();
});

test("a number changed in a sentence changes remark, results and figure after it", async () => {
    const seen = await demo();
    const { page } = seen;
    await takePlate(page, "calibrate", "calibration");
    const was = [await remark(page, "calibrate"), await picture(page), await results(page, "calibrate")];
    await type(page, "calibrate", "reject", "1,5");
    await page.waitForFunction(
        (old) => document.querySelector("#step-calibrate-remark").textContent !== old, was[0]);
    await settled(page);
    assert.notEqual(await picture(page), was[1]);
    assert.notDeepEqual(await results(page, "calibrate"), was[2]);
    await page.keyboard.press("Control+z");
    await page.waitForFunction(
        (old) => document.querySelector("#step-calibrate-remark").textContent === old, was[0]);
    await settled(page);
    assert.deepEqual(await results(page, "calibrate"), was[2]);

    const before = await result(page, "elements", "Declination D");
    const azimuth = Number(await page.locator("#step-orient-azimuth").inputValue());
    await type(page, "orient", "azimuth", String(azimuth + 10));
    const after = await result(page, "elements", "Declination D");
    assert.ok(Math.abs(after.value - before.value - 10) < 0.15, `${before.value} → ${after.value}`);
    assertQuiet(seen);
    await seen.close();
});

test("a figure is saved as SVG with text, as PNG of the size asked, as CSV that a replay agrees with", async () => {
    const seen = await dropped();
    const { page } = seen;
    await takePlate(page, "spectrum", "spectrum");
    const save = (name) => downloaded(page, () => page.getByRole("button", { name }).click());

    const svg = await save("Save the figure as SVG");
    const text = svg.bytes.toString("utf8");
    assert.match(text, /<text[^>]*>[^<]*period/i, "the axis' words are text");
    assert.match(text, /width="170mm"/);
    assert.doesNotMatch(text, /<script|href="http/);

    await page.getByText("Size and form of what is saved").click();
    await page.getByLabel("Width / mm").fill("120");
    await page.getByLabel("Height / mm").fill("80");
    await page.getByLabel("Dots per inch").fill("254");
    const png = readPng((await save("Save the figure as PNG")).bytes);
    assert.deepEqual([png.width, png.height], [1200, 800]);
    assert.deepEqual(png.perMetre, { x: 10_000, y: 10_000 });

    await page.getByLabel("Width / mm").fill("170");
    await page.getByLabel("Height / mm").fill("100");
    const csv = await save("Save the numbers of the figure as CSV");
    const procedure = await save("Save the procedure");
    const folder = await mkdtemp(join(tmpdir(), "lodelog-"));
    const file = join(folder, "procedure.json");
    await writeFile(file, procedure.bytes);
    const logs = [LOG, TURNING].map((name) => join(demoData, name));
    const native = await replay(file, logs, folder);
    const figure = native.figures.find(({ name }) => name === "spectrum-spectrum");
    const there = rows(await readFile(join(folder, figure.data), "utf8"));
    assertSameNumbers(rows(csv.bytes.toString("utf8")), there);

    const processed = await save("Save the processed data");
    const whole = rows(await readFile(join(folder, "processed.csv"), "utf8"));
    assertSameNumbers(rows(processed.bytes.toString("utf8")), whole);
    assertSameOrigin(seen, server.origin);
    assertQuiet(seen);
    await seen.close();
});

/** Cell by cell: equal texts, or numbers equal to 1e-12 of the largest in their column. */
function assertSameNumbers(here, there) {
    assert.equal(here.length, there.length, "rows");
    assert.deepEqual(here[0], there[0]);
    const largest = there[0].map((_, column) =>
        there.slice(1).reduce((most, row) => Math.max(most, Math.abs(Number(row[column])) || 0), 0));
    let compared = 0;
    for (let row = 1; row < here.length; row += 1) {
        for (let column = 0; column < here[row].length; column += 1) {
            const [a, b] = [here[row][column], there[row][column]];
            if (a === b) continue;
            const off = Math.abs(Number(a) - Number(b));
            const allowed = 1e-12 * Math.max(Math.abs(Number(b)), 1e-3 * largest[column]);
            assert.ok(off <= allowed, `row ${row}, ${there[0][column]}: ${a} and ${b}`);
            compared += 1;
        }
    }
    return compared;
}
