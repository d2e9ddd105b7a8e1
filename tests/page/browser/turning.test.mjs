// A poor turning on the real page: refused with its reason and the map, turned again, accepted; kept for another log.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { test } from "node:test";
import { audit } from "../lib/axe.mjs";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, assertSameOrigin, visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { demoData } from "../lib/places.mjs";
import { picture, remark, result, results, settled, takePlate, truth, type } from "../lib/read.mjs";
import { photograph } from "../lib/screens.mjs";

const LOG = "tern-skerry-10-days.csv";
const TURNING = "tern-skerry-turning.csv";
const FAULT = "#step-calibrate .remark-list .is-fault";

const { browser, server } = await begun();

const log = async (name) => ({ name, bytes: await readFile(join(demoData, name)) });

/** The first quarter of a minute of the good turning: at rest, then once round on one face. */
async function oneFace() {
    const { sensor } = await truth("tern-skerry-turning");
    assert.ok(sensor, "the truth names its sensor");
    const lines = (await readFile(join(demoData, TURNING), "utf8")).split("\n");
    return { name: "one-face.csv", bytes: lines.slice(0, 141).join("\n") };
}

async function opened(files) {
    const seen = await visit(browser, server.url);
    await drop(seen.page, "main", files);
    await seen.page.waitForSelector("#step-elements .step__remark", { timeout: 60_000 });
    await settled(seen.page);
    const { station } = await truth("tern-skerry-10-days");
    await seen.page.locator("#step-station input[type=checkbox]").check();
    await settled(seen.page);
    await type(seen.page, "station", "latitude", String(station.latitude_deg));
    await type(seen.page, "station", "longitude", String(station.longitude_deg));
    return seen;
}

test("a turn on one face is refused with reason, remedy and map; turned again, it is accepted", async () => {
    const seen = await opened([await log(LOG), await oneFace()]);
    const { page } = seen;
    const said = await page.locator(FAULT).textContent();
    assert.match(said, /patches of the sphere of directions|lie in one plane/);
    assert.match(said, /onto another face/);
    assert.match(said, /arrow towards magnetic (north|south)/);
    await takePlate(page, "calibrate", "directions");
    const caption = await page.locator(".plate__caption").textContent();
    assert.match(caption, /Why the turning was refused: of 48 equal areas .* (2\d|3\d|4\d) stayed empty/);
    const refused = await picture(page);
    assert.ok(refused.length > 6000, "an empty map");
    assert.deepEqual(await audit(page, "#step-calibrate"), []);
    assert.deepEqual(await audit(page, ".plate"), []);
    await photograph(page, "turning-refused");

    await drop(page, "main", [await log(TURNING)]);
    await page.waitForFunction(
        (fault) => document.querySelector(fault) === null, FAULT, { timeout: 60_000 });
    await settled(page);
    assert.match(await remark(page, "calibrate"), /^Used [\d,]+ of [\d,]+ samples/);
    const { sensor } = await truth("tern-skerry-turning");
    for (const [k, axis] of ["x", "y", "z"].entries()) {
        const { value, sigma } = await result(page, "calibrate", `Offset ${axis} (hard iron)`);
        const wanted = 1000 * sensor.offset_during_turning_ut[k];
        assert.ok(Math.abs(value - wanted) < 3 * sigma, `${axis}: ${value} ± ${sigma}, in truth ${wanted}`);
    }
    await takePlate(page, "calibrate", "directions");
    assert.notEqual(await picture(page), refused);
    await photograph(page, "turning-accepted");
    assertSameOrigin(seen, server.origin);
    assertQuiet(seen);
    await seen.close();
});

test("a calibration that was saved gives a log without a turning the same field", async () => {
    const first = await opened([await log(LOG), await log(TURNING)]);
    const wanted = await results(first.page, "elements");
    const kept = await downloaded(first.page, () =>
        first.page.getByRole("button", { name: "Save the calibration" }).click());
    assert.match(kept.name, /calibration.*\.json$/);
    await first.close();

    const second = await opened([await log(LOG)]);
    const { page } = second;
    assert.equal(await page.getByRole("button", { name: "Save the calibration" }).isVisible(), false);
    await drop(page, "main", [{ name: kept.name, bytes: kept.bytes }]);
    await page.waitForSelector("#step-calibrate .results dd", { timeout: 60_000 });
    await settled(page);
    const sentence = await page.locator("#step-calibrate .step__sentence").textContent();
    assert.match(sentence, /take off the offset/);
    assert.equal(await page.locator("#step-calibrate-origin").inputValue(), `${TURNING} 2026-04-30`);
    assert.deepEqual(await results(page, "elements"), wanted);
    await photograph(page, "calibration-known");
    assertQuiet(second);
    await second.close();
});
