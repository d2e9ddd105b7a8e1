// What leaves the page and comes back: link, hand-in, zip; what this machine keeps; lessons.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, assertSameOrigin, visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { demoData, www } from "../lib/places.mjs";
import { results, settled, type } from "../lib/read.mjs";
import { serve } from "../lib/server.mjs";

const LOG = "tern-skerry-10-days.csv";
const TURNING = "tern-skerry-turning.csv";

const { browser, server } = await begun();

const log = async (name) => ({ name, bytes: await readFile(join(demoData, name)) });
const ran = (page) => page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
const methods = (page) => page.locator(".handin__methods").textContent();
const numbers = async (page) => [
    ...(await results(page, "calibrate")),
    ...(await results(page, "elements")),
    ...(await results(page, "spectrum")),
];

/** A page at an address, run to its end. */
async function at(address, options) {
    const seen = await visit(browser, address, options);
    await ran(seen.page);
    await settled(seen.page);
    return seen;
}

/** The ten days and the turning, dropped on the page. */
async function dropped(options) {
    const seen = await visit(browser, server.url, options);
    await drop(seen.page, "main", [await log(LOG), await log(TURNING)]);
    await ran(seen.page);
    await settled(seen.page);
    return seen;
}

/** The address that the page offers as its link. */
async function linkOf(page) {
    if (!(await page.locator("details.share").evaluate((one) => one.open))) {
        await page.getByText("Link and QR code").click();
    }
    const field = page.locator(".share__link");
    await page.waitForFunction(() => document.querySelector(".share__link")?.textContent !== "");
    return (await field.textContent()) ?? "";
}

const fragment = (link) => link.slice(link.indexOf("#") + 1);

test("P24 the demo's link is short, plain, and opens to the same numbers and methods", async () => {
    const first = await at(`${server.url}#demo`);
    await type(first.page, "spikes", "threshold", "4.5");
    const link = await linkOf(first.page);
    const text = fragment(link);
    assert.ok(text.length <= 400, `${text.length} characters: ${text}`);
    assert.match(text, /^[A-Za-z0-9._-]*[A-Za-z0-9]$/);
    assert.equal(await first.page.locator(".share__qr path").count(), link.length <= 412 ? 1 : 0);
    const second = await at(link);
    assert.equal(await second.page.locator("#step-spikes-threshold").inputValue(), "4.5");
    assert.deepEqual(await numbers(second.page), await numbers(first.page));
    assert.equal(await methods(second.page), await methods(first.page));
    assertSameOrigin(second, server.origin);
    assertQuiet(second);
    await first.close();
    await second.close();
});

test("a link made on an own log asks for it, and the log brings the numbers back", async () => {
    const first = await dropped();
    await type(first.page, "spikes", "threshold", "4.5");
    const link = await linkOf(first.page);
    const second = await visit(browser, link);
    const notice = second.page.locator(".notice");
    await notice.waitFor();
    assert.match((await notice.textContent()) ?? "", /SHA-256 [0-9a-f]{12}/);
    await drop(second.page, "main", [await log(LOG), await log(TURNING)]);
    await ran(second.page);
    await settled(second.page);
    await second.page.waitForFunction(() => document.querySelector("#step-spikes-threshold")?.value === "4.5");
    await settled(second.page);
    assert.deepEqual(await numbers(second.page), await numbers(first.page));
    assert.equal(await notice.count(), 0);
    await first.close();
    await second.close();
});

test("P25 a link that is cut, changed, newer, unknown or too large is told in words", async () => {
    const first = await at(`${server.url}#demo`);
    const text = fragment(await linkOf(first.page));
    await first.close();
    const changed = text.slice(0, 40) + (text[40] === "A" ? "B" : "A") + text.slice(41);
    const { deflateRawSync, crc32 } = await import("node:zlib");
    const made = (json) => packed(deflateRawSync(Buffer.from(json)), crc32);
    const broken = {
        cut: [text.slice(0, -9), /incomplete: [\d,]+ of [\d,]+ characters/],
        changed: [changed, /changed on its way/],
        newer: [text.replace(/^1/, "7"), /form “7”/],
        schema: [made('{"schema":9,"steps":[]}'), /form 9/],
        unknown: [made('{"schema":1,"steps":[{"step":"spikes","set":{"treshold":4}}]}'), /treshold/],
        large: [made(`{"schema":1,"steps":[],"x":"${" ".repeat(200_000_000)}"}`), /unpacks to more/],
    };
    for (const [what, [bad, words]] of Object.entries(broken)) {
        const began = Date.now();
        const seen = await visit(browser, `${server.url}#${bad}`);
        await seen.page.locator(".notice").waitFor({ timeout: 15_000 });
        assert.match((await seen.page.locator(".notice").textContent()) ?? "", words, what);
        console.log(`    ${what}: told after ${Date.now() - began} ms, the page's own start included`);
        assertQuiet(seen);
        await seen.close();
    }
});

/** A link of our form around any packed bytes. */
function packed(bytes, crc32) {
    const payload = Buffer.from(bytes).toString("base64url");
    let rest = crc32 === undefined ? plainCrc(payload) : crc32(payload);
    let check = "";
    for (let k = 0; k < 4; k++) {
        check += (rest % 36).toString(36);
        rest = Math.floor(rest / 36);
    }
    return `1.${payload.length + 4}.${payload}${check}`;
}

/** CRC-32 (ISO/IEC 3309), a bit at a time. */
function plainCrc(text) {
    let crc = 0xffffffff;
    for (const byte of Buffer.from(text)) {
        crc ^= byte;
        for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
    }
    return (crc ^ 0xffffffff) >>> 0;
}

test("P26 markup in a link, a column's name or a file's name is shown as text", async () => {
    const name = "<img src=x onerror=alert(1)>.csv";
    const rows = ["time,<b>bx</b> (nT),by (nT),bz (nT)"];
    for (let k = 0; k < 60; k++) {
        rows.push(`2026-05-03T14:${String(k).padStart(2, "0")}:00Z,16632.${k % 7},-1002.${k % 5},47743.${k % 3}`);
    }
    const seen = await visit(browser, server.url);
    await drop(seen.page, "main", [{ name, bytes: rows.join("\n") }]);
    await seen.page.waitForSelector("#step-read");
    await settled(seen.page);
    assert.equal(await seen.page.locator("#spread img, #spread b, .notices img, .notices b").count(), 0);
    assert.ok(((await seen.page.locator(".entry__name").first().textContent()) ?? "").includes(name));
    assertQuiet(seen);
    await seen.close();
});

test("P27 a lesson's path that leads out of the folder is refused and nothing is asked for", async () => {
    for (const path of ["https://example.org/a.json", "//example.org/a", "a\\b.json", "%2e%2e/a.json", "../a.json", "lessons/../../a"]) {
        const seen = await visit(browser, server.url);
        const before = seen.requests.length;
        await seen.page.evaluate((hash) => { location.hash = hash; }, `lesson=${path}`);
        await seen.page.locator(".notice").waitFor();
        assert.match((await seen.page.locator(".notice").textContent()) ?? "", /outside the page’s own folder/);
        const asked = seen.requests.slice(before).filter((one) => !/\/(pkg|worker|icons)\//.test(one));
        assert.deepEqual(asked, [], path);
        await seen.close();
    }
});

test("a lesson opens its logs and asks its own questions; a log beside the page opens by its path", async () => {
    const lesson = await at(`${server.url}#lesson=lessons/first-look.json`);
    await lesson.page.getByText("Title, names and answers").click();
    await lesson.page.getByLabel(/halve the noise/).waitFor();
    assertQuiet(lesson);
    await lesson.close();
    const beside = await serve(www, {
        instead: { "logs/ten.csv": { body: await readFile(join(demoData, LOG)) } },
    });
    const seen = await visit(browser, `${beside.url}#log=logs/ten.csv`);
    await seen.page.waitForSelector("#step-read");
    assert.match((await seen.page.locator(".entry__name").first().textContent()) ?? "", /ten\.csv/);
    await seen.close();
    await beside.close();
});

test("P28 link, procedure and hand-in hold the place to one decimal as proposed", async () => {
    const seen = await at(`${server.url}#demo`);
    for (const slot of ["latitude", "longitude"]) {
        const text = await seen.page.locator(`#step-station-${slot}`).inputValue();
        assert.match(text, /^[-−]?\d+(\.\d)?$/, slot);
    }
    const saved = await downloaded(seen.page, () => seen.page.getByRole("button", { name: "Save the procedure", exact: true }).click());
    const { steps } = JSON.parse(saved.bytes.toString("utf8"));
    const { set } = steps.find(({ step }) => step === "station");
    assert.ok(Math.abs(set.latitude * 10 - Math.round(set.latitude * 10)) < 1e-9);
    await seen.close();
});

test("P29 a tab that dies leaves its work, which is offered and comes back whole", async () => {
    const context = await browser.newContext({ viewport: { width: 1366, height: 768 } });
    const page = await context.newPage();
    await page.goto(server.url);
    await drop(page, "main", [await log(LOG), await log(TURNING)]);
    await ran(page);
    await settled(page);
    await type(page, "spikes", "threshold", "4.5");
    await page.getByText("Title, names and answers").click();
    await page.getByLabel("Title", { exact: true }).fill("Quiet days");
    const before = await numbers(page);
    await page.waitForTimeout(1500);
    await page.close({ runBeforeUnload: false });
    const again = await context.newPage();
    await again.goto(server.url);
    await again.locator(".kept").waitFor();
    assert.match((await again.locator(".kept").textContent()) ?? "", /You were working on tern-skerry-10-days\.csv/);
    await again.getByRole("button", { name: /^Continue with/ }).first().click();
    await ran(again);
    await again.waitForFunction(() => document.querySelector("#step-spikes-threshold")?.value === "4.5");
    await settled(again);
    assert.deepEqual(await numbers(again), before);
    assert.equal(await again.getByLabel("Title", { exact: true }).inputValue(), "Quiet days");
    await context.close();
});

test("P30 a second tab on the same work says so and overwrites nothing", async () => {
    const context = await browser.newContext({ viewport: { width: 1366, height: 768 } });
    const first = await context.newPage();
    await first.goto(`${server.url}#demo`);
    await ran(first);
    await settled(first);
    await first.waitForTimeout(1500);
    const second = await context.newPage();
    await second.goto(server.url);
    await second.getByRole("button", { name: /^Continue with/ }).first().click();
    await ran(second);
    await settled(second);
    assert.match((await second.locator(".notice").first().textContent()) ?? "", /also open in another tab/);
    await type(second, "spikes", "threshold", "6.5");
    await second.waitForTimeout(1500);
    const third = await context.newPage();
    await third.goto(server.url);
    await third.locator(".kept").waitFor();
    assert.equal(await third.getByRole("button", { name: /^Continue with/ }).count(), 2);
    await context.close();
});

test("P31 forgetting everything leaves nothing stored", async () => {
    const context = await browser.newContext({ viewport: { width: 1366, height: 768 } });
    const page = await context.newPage();
    await page.goto(`${server.url}#demo`);
    await ran(page);
    await settled(page);
    await page.waitForTimeout(1500);
    await page.getByRole("button", { name: "Forget everything on this computer" }).click();
    await page.waitForTimeout(500);
    const left = await page.evaluate(async () => {
        const bases = (await indexedDB.databases()).map(({ name }) => name);
        return { bases, local: localStorage.length, session: sessionStorage.length };
    });
    assert.deepEqual(left, { bases: [], local: 0, session: 0 });
    await context.close();
});

test("P38 the hand-in holds everything, prints whole, and dropped on the page brings the work back", async () => {
    const first = await dropped();
    const { page } = first;
    await type(page, "spikes", "threshold", "4.5");
    await page.getByText("Title, names and answers").click();
    await page.getByLabel("What did you find?").fill("A dip each noon <script>");
    const saved = await downloaded(page, () => page.getByRole("button", { name: "Save the hand-in" }).click());
    const html = saved.bytes.toString("utf8");
    assert.ok(saved.bytes.length <= 5_000_000, `${saved.bytes.length} bytes`);
    assert.doesNotMatch(html, /<script|<link|<img|src=|href=|@import|url\(/);
    const reader = await visit(browser, "about:blank");
    await reader.page.setContent(html);
    const shown = await reader.page.locator("body").innerText();
    for (const paragraph of await page.$$eval(".handin__methods p", (all) => all.map((one) => one.textContent ?? ""))) {
        assert.ok(shown.replace(/\s+/g, " ").includes(paragraph.replace(/\s+/g, " ")), paragraph.slice(0, 80));
    }
    assert.match(shown, /SHA-256 [0-9a-f]{64}/);
    assert.match(shown, /A dip each noon <script>/);
    await reader.page.emulateMedia({ media: "print" });
    const split = await reader.page.$$eval("figure", (all) =>
        all.filter((one) => getComputedStyle(one).breakInside !== "avoid").length,
    );
    assert.equal(split, 0);
    await reader.close();

    const second = await visit(browser, server.url);
    await drop(second.page, "main", [await log(LOG), await log(TURNING), { name: saved.name, bytes: saved.bytes, type: "text/html" }]);
    await second.page.waitForFunction(() => document.querySelector("#step-spikes-threshold")?.value === "4.5");
    await settled(second.page);
    assert.deepEqual(await numbers(second.page), await numbers(page));
    assert.equal(await second.page.getByLabel("What did you find?").inputValue(), "A dip each noon <script>");
    await first.close();
    await second.close();
});

test("what is printed in a dark browser stands on white paper", async () => {
    const { page, close } = await visit(browser, server.url);
    await page.emulateMedia({ colorScheme: "dark", media: "print" });
    const canvas = await page.evaluate(() => getComputedStyle(document.documentElement).colorScheme);
    assert.equal(canvas, "light");
    await close();
});

test("the zip holds the hand-in, the record, tables and figures", async () => {
    const seen = await dropped();
    const saved = await downloaded(seen.page, () => seen.page.getByRole("button", { name: "Save everything as a zip" }).click());
    const text = saved.bytes.toString("latin1");
    for (const name of ["hand-in.html", "procedure.json", "processed.csv", "methods.txt", ".svg"]) {
        assert.ok(text.includes(name), name);
    }
    assert.match(saved.name, /-all-.*\.zip$/);
    assertQuiet(seen);
    await seen.close();
});
