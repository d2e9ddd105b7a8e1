// The same on every machine: acceptance statements P41 to P43 of the project's contract.

import assert from "node:assert/strict";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { assertQuiet, launch, pageMemory, visit } from "../lib/browser.mjs";
import { inLanguage } from "../lib/driver.mjs";
import { ENGINES, workedThrough } from "../lib/engines.mjs";
import { downloaded, drop, dropPath } from "../lib/files.mjs";
import { demoData, www } from "../lib/places.mjs";
import { replay, rows, settled } from "../lib/read.mjs";
import { serve } from "../lib/server.mjs";

let browser;
let server;
let folder;

before(async () => {
    server = await serve(www);
    browser = await launch();
    folder = await mkdtemp(join(tmpdir(), "lodelog-machines-"));
});
after(async () => {
    await browser.close();
    await server.close();
    await rm(folder, { recursive: true, force: true });
});

const LOG = join(demoData, "tern-skerry-10-days.csv");

/** Two tables hold the same to 1e-12 of each number, or of the largest of its column. */
function assertSame(found, wanted, who) {
    const [a, b] = [rows(found), rows(wanted)];
    assert.equal(a.length, b.length, who);
    const largest = a[0].map((_, at) => Math.max(...a.slice(1).map((row) => Math.abs(Number(row[at])) || 0)));
    for (const [k, row] of a.entries()) {
        for (const [at, cell] of row.entries()) {
            const [x, y] = [Number(cell), Number(b[k][at])];
            const near = Math.abs(x - y) <= 1e-12 * Math.max(Math.abs(y), 1e-3 * largest[at]);
            assert.ok(cell === b[k][at] || near, `${who}: row ${k}, ${a[0][at]}: ${cell}, not ${b[k][at]}`);
        }
    }
}

test("P41 results are equal in Chromium, Firefox, WebKit and natively to 1e-12", async () => {
    const found = {};
    for (const name of Object.keys(ENGINES)) found[name] = await workedThrough(name, LOG);
    assert.match(found.Firefox.agent, /Firefox/);
    assert.match(found.Chromium.agent, /Chrom/);
    assert.match(found.WebKit.agent, /AppleWebKit(?!.*Chrom)/);
    for (const other of [found.Firefox, found.WebKit]) {
        // The sentences and every number in them, not only within rounding.
        assert.equal(other.view, found.Chromium.view);
        assert.equal(other.processed, found.Chromium.processed);
    }
    const file = join(folder, "procedure.json");
    await writeFile(file, found.Chromium.procedure);
    const native = await replay(file, [LOG], folder);
    const name = native.outputs?.find((one) => /processed/.test(one)) ?? "processed.csv";
    assertSame(found.Chromium.processed, await readFile(join(folder, name), "utf8"), "native");
});

test("P41 Firefox and WebKit give the same under German and Arabic, in UTC and Auckland", async () => {
    const told = [];
    for (const [name, language, zone] of [
        ["Firefox", "en-GB", "UTC"], ["Firefox", "de-DE", "Pacific/Auckland"], ["Firefox", "ar-EG", "UTC"],
        ["WebKit", "de-DE", "Pacific/Auckland"], ["WebKit", "ar-EG", "UTC"],
    ]) {
        const preferences = `user_pref("intl.accept_languages", "${language}");\n`;
        const variables = { TZ: zone, ...(name === "WebKit" ? inLanguage(folder, language) : {}) };
        const { here, view, processed } = await workedThrough(name, LOG, { preferences, variables });
        assert.equal(here.zone, zone, name);
        assert.equal(here.languages[0], language, name);
        told.push({ view, processed });
    }
    for (const one of told.slice(1)) assert.deepEqual(one, told[0]);
});

test("P41 the page in Chromium gives the same under German and Arabic, in UTC and Auckland", async () => {
    const told = [];
    for (const [locale, timezoneId] of [["en-GB", "UTC"], ["de-DE", "Pacific/Auckland"], ["ar-EG", "UTC"]]) {
        const seen = await visit(browser, server.url, { locale, timezoneId });
        await dropPath(seen.page, "body", LOG);
        await seen.page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
        await settled(seen.page);
        const saved = await downloaded(seen.page, () => seen.page.getByText("Save the procedure", { exact: true }).click());
        told.push([
            await seen.page.$$eval(".step .results dd", (all) => all.map((one) => one.textContent)),
            await seen.page.$$eval(".step__remark", (all) => all.map((one) => one.textContent)),
            saved.bytes.toString("utf8"),
        ]);
        assertQuiet(seen);
        await seen.close();
    }
    assert.ok(told[0][0].length > 10);
    assert.deepEqual(told[1], told[0]);
    assert.deepEqual(told[2], told[0]);
});

/** Half-hour rows by a clock on the wall from 24 to 26 October 2026; London's goes back on the 25th. */
function autumn() {
    const lines = ["date,time,bx_nt,by_nt,bz_nt"];
    // From 24 October 12:00 UTC, an hour ahead; from 25 October 01:00 UTC no longer.
    for (let k = 0; k < 48; k += 1) {
        const utc = Date.UTC(2026, 9, 24, 12) + k * 1_800_000;
        const wall = new Date(utc < Date.UTC(2026, 9, 25, 1) ? utc + 3_600_000 : utc).toISOString();
        lines.push(`${wall.slice(0, 10)},${wall.slice(11, 19)},${17_000 + (k % 5)},${-300 - (k % 3)},${45_000 + (k % 7)}`);
    }
    return `${lines.join("\n")}\n`;
}

test("P42 local time over a clock change: one question, and the offsets in the procedure", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await drop(page, "body", [{ name: "autumn.csv", bytes: autumn() }]);
    await page.waitForSelector(".decision.is-asked");
    assert.equal(await page.locator(".decision.is-asked").count(), 1);
    const field = page.getByLabel(/Or type a place's time zone/);
    await field.fill("Europe/London");
    await field.press("Enter");
    // 48 rows half an hour apart: nothing left over, nothing twice.
    const read = page.locator("#step-read");
    await read.getByText("24 October 2026 12:00").first().waitFor();
    await settled(page);
    assert.match(await read.textContent(), /24 October 2026 12:00 to 25 October 2026 11:30 UTC/);
    assert.match(await read.textContent(), /No gaps, no repeated times, no steps back/);
    assert.equal(await page.locator(".decision.is-asked").count(), 0);
    const saved = await downloaded(page, () => page.getByText("Save the procedure", { exact: true }).click());
    const { readings } = JSON.parse(saved.bytes.toString("utf8"));
    assert.match(readings[0].set.zone, /\+01:00 2026-10-25T01:00:00Z \+00:00/);
    await seen.close();
});

test("P43 a log of 10 MB takes at most 400 MB of memory, one of 100 MB at most 1 GB", async () => {
    const row = (k) => `${1_777_818_000 + k},${17_000 + (k % 89)}.5,${(k >> 7) % 97}.25,${45_000 + (k % 83)}.75,11.5\n`;
    for (const [megabytes, most] of [[10, 400], [100, 1000]]) {
        const path = join(folder, `long-${megabytes}.csv`);
        const parts = ["time_s,bx_nt,by_nt,bz_nt,temperature_degc\n"];
        for (let k = 0, size = 0; size < megabytes * 1e6; k += 1) {
            const line = row(k);
            size += line.length;
            parts.push(line);
        }
        await writeFile(path, parts.join(""));
        const seen = await visit(browser, server.url);
        await seen.page.setInputFiles("#picker", path);
        await seen.page.waitForSelector("#step-spectrum .results dd", { timeout: 120_000 });
        await settled(seen.page);
        const held = await pageMemory(browser);
        console.log(`    ${megabytes} MB: ${held.toFixed(0)} MB of memory at most; the bar is ${most}`);
        assert.ok(held > 20 && held <= most, `${held} MB`);
        await seen.close();
    }
});
