// The first minutes: acceptance statements P01, P02, P06, P07 and P40 of the project's contract, on
// the real engine.

import assert from "node:assert/strict";
import { mkdtemp } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { assertSameOrigin, slow, visit } from "../lib/browser.mjs";
import { downloaded, drop, paste } from "../lib/files.mjs";
import { BUSY, demoRun, median, openDemo } from "../lib/real.mjs";
import { remark, results, settled } from "../lib/read.mjs";

const { browser, server } = await begun();

const LAPTOP = { width: 1366, height: 600 };
const SMALL = { width: 1093, height: 480 };

/** Whether an element stands within the window, whole. */
const isInView = (page, selector) =>
    page.locator(selector).first().evaluate((element) => {
        const box = element.getBoundingClientRect();
        return box.width > 0 && box.top >= 0 && box.bottom <= window.innerHeight && box.right <= window.innerWidth;
    });

test("P01 landing at 1366 by 600 shows purpose, drop area and demo without scrolling or a dialog", async () => {
    const seen = await visit(browser, server.url, { viewport: LAPTOP });
    for (const selector of [".landing__purpose", "#drop", "#demo", ".landing__promise"]) {
        assert.ok(await isInView(seen.page, selector), selector);
    }
    assert.equal(await seen.page.locator("dialog, [role=dialog]").count(), 0);
    await seen.close();
});

/** From the press on the demo's button to the first figure drawn and the first remark, milliseconds. */
const timeDemo = (page) =>
    page.evaluate(async () => {
        const began = performance.now();
        document.getElementById("demo").click();
        const isThere = () => document.querySelector(".plate__words:not([hidden])")?.textContent
            && document.querySelector("figcaption .plate__words")?.textContent
            && [...document.querySelectorAll(".step__remark")].some((one) => one.textContent);
        while (!isThere() && performance.now() - began < 60_000) {
            await new Promise((done) => requestAnimationFrame(done));
        }
        return performance.now() - began;
    });

test("P02 the demo's first figure and remark come within 2 s of the press, slow within 6 s", async () => {
    // The bars are for this machine at rest.  Other work may share it, so the test fails only at
    // three times the bar, and prints what was measured.  The browser slows the page alone, not its
    // worker, so four times the plain median is printed as the upper bound beside the slowed one.
    const measure = async (times) => {
        const found = [];
        for (let k = 0; k < 3; k += 1) {
            const seen = await visit(browser, server.url);
            if (times > 1) await slow(seen.page, times);
            found.push(await timeDemo(seen.page));
            await seen.close();
        }
        return median(found);
    };
    const plain = await measure(1);
    const slowed = await measure(4);
    console.log(`P02: median ${plain.toFixed(0)} ms of 2000; page slowed fourfold ${slowed.toFixed(0)} ms of 6000, ` +
        `at most ${(4 * plain).toFixed(0)} with its worker slowed too`);
    assert.ok(plain < 2000 * BUSY, `${plain} ms`);
    assert.ok(slowed < 6000 * BUSY, `${slowed} ms`);
});

test("P06 at 1366 by 600 and 1093 by 480 the slot in focus, its remark and its figure are in sight together", async () => {
    const seen = await openDemo(browser, server, { viewport: LAPTOP });
    const { page } = seen;
    const slots = await page.$$eval(".step__sentence .slot__control", (all) =>
        all.filter((one) => one.checkVisibility()).map((one) => [one.id, one.closest(".step").id]));
    assert.ok(slots.length >= 30);
    for (const size of [LAPTOP, SMALL]) {
        await page.setViewportSize(size);
        const hidden = [];
        for (const [slot, step] of slots) {
            const holdsFigure = await page.locator(`#${step} .step__plates button`).count();
            await page.focus(`#${slot}`);
            await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
            const wanted = [`#${slot}`, `#${step}-remark`, ...(holdsFigure > 0 ? [".plate__canvas"] : [])];
            for (const selector of wanted) {
                if (!(await isInView(page, selector))) hidden.push(`${slot}: ${selector}`);
            }
        }
        assert.deepEqual(hidden, [], `${size.width} by ${size.height}`);
    }
    await seen.close();
});

test("P07 by the keyboard alone, landing to a saved SVG takes 25 key presses or fewer", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    let presses = 0;
    const press = async (key) => {
        presses += 1;
        await page.keyboard.press(key);
    };
    const reach = async (selector) => {
        for (let k = 0; k < 25; k += 1) {
            if (await page.evaluate((one) => document.activeElement?.matches(one), selector)) return;
            await press("Tab");
        }
        assert.fail(`${selector} was not reached`);
    };
    await reach("#demo");
    await press("Enter");
    await demoRun(page);
    await reach("a[href='#plates']");
    await press("Enter");
    await reach("[aria-label='Save the figure as SVG']");
    const saved = await downloaded(page, () => press("Enter"));
    assert.match(saved.name, /^[a-z0-9.-]{1,60}\.svg$/);
    console.log(`P07: ${presses} key presses`);
    assert.ok(presses <= 25, `${presses} key presses`);
    assertSameOrigin(seen, server.origin);
    await seen.close();
});

/** Bytes without any order. */
function noise(length) {
    let state = 12345;
    return Uint8Array.from({ length }, () => {
        state = (Math.imul(state, 1103515245) + 12345) >>> 0;
        return state >>> 24;
    });
}

const bytes = (...list) => Uint8Array.of(...list);
const text = (words, rest = 0) => Uint8Array.from([...new TextEncoder().encode(words), ...Array(rest).fill(7)]);

/** Files that cannot be a log, and what must be said of each. */
const REFUSED = [
    { name: "empty.csv", bytes: "", says: /empty|nothing|0 bytes/i },
    { name: "in-the-cloud.csv", bytes: "", says: /empty|nothing|0 bytes/i },
    { name: "table.xlsx", bytes: text("PK\u0003\u0004\u0014\0\u0006\0[Content_Types].xml xl/workbook.xml", 40), says: /spreadsheet|zip|workbook/i },
    { name: "report.pdf", bytes: text("%PDF-1.7\n1 0 obj\n<< /Type /Catalog >>\nendobj\n"), says: /PDF/ },
    { name: "photo.csv", bytes: bytes(0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10, 0, 0, 0, 13, 1, 2, 3), says: /picture|image/i },
    { name: "logs.zip", bytes: text("PK\u0003\u0004\u0014\0\0\0\u0008\0march/log.csv", 60), says: /zip|archive|packed/i },
    { name: "login.csv", bytes: "<!doctype html><html><body>Sign in to go on</body></html>", says: /web page|HTML/i },
    { name: "words.csv", bytes: "note\nhello\nthere\nagain\nand on\n", says: /number|column/i },
    { name: "noise.bin", bytes: noise(4096), says: /text|binary/i },
    { name: "nan.csv", bytes: `time,x,y,z\n${"2026-05-01T00:00:30Z,NaN,NaN,NaN\n".repeat(50)}`, says: /number|value|missing/i },
    { name: "rejected.csv", bytes: `time,x,y,z\n${"yesterday,red,green,blue\n".repeat(40)}`, says: /number|row|column|time/i },
];

test("P40 each file that cannot be a log is answered with what, where and what next; the work before it stays", async () => {
    const seen = await openDemo(browser, server);
    const { page } = seen;
    const before = [await remark(page, "elements"), await results(page, "elements")];
    const logs = await page.locator(".entry__name").allTextContents();
    for (const { name, bytes: content, says } of REFUSED) {
        await drop(page, "main", [{ name, bytes: content }]);
        const notice = page.locator("#notices .notice").first();
        await notice.waitFor({ timeout: 20_000 });
        const told = await notice.textContent();
        assert.match(told, says, `${name}: ${told}`);
        assert.ok(told.includes(name), `${name} is not named: ${told}`);
        const what = await notice.locator(".notice__what").textContent();
        assert.ok(told.length - what.length > 40, `${name} has no next step: ${told}`);
        assert.doesNotMatch(told, /invalid|undefined|null|panicked|unreachable/i);
        assert.equal(await notice.getAttribute("role"), "alert");
        await notice.getByRole("button", { name: "Dismiss" }).click();
        await settled(page);
        assert.deepEqual([await remark(page, "elements"), await results(page, "elements")], before, name);
        assert.deepEqual(await page.locator(".entry__name").allTextContents(), logs, name);
    }
    await seen.close();
});

test("P40 a folder is answered so too", async () => {
    const seen = await openDemo(browser, server);
    const { page } = seen;
    const before = await remark(page, "elements");
    const folder = await mkdtemp(join(tmpdir(), "lodelog-folder-"));
    const session = await page.context().newCDPSession(page);
    const data = { items: [], files: [folder], dragOperationsMask: 1 };
    for (const type of ["dragEnter", "dragOver", "drop"]) {
        await session.send("Input.dispatchDragEvent", { type, x: 300, y: 300, data });
    }
    const notice = page.locator("#notices .notice").first();
    await notice.waitFor({ timeout: 20_000 });
    assert.match(await notice.textContent(), /could not be read.*folder.*drop the file inside/i);
    assert.equal(await remark(page, "elements"), before);
    await seen.close();
});

const stamped = (row, count = 300) =>
    `time,x,y,z\n${Array.from({ length: count }, (_, k) => `${new Date(Date.UTC(2026, 4, 1) + 30_000 * k).toISOString()},${row(k)}\n`).join("")}`;

/** Logs that open, and what must be said beside them. */
const WARNED = [
    { what: "one column", bytes: Array.from({ length: 300 }, (_, k) => `${(k * 7) % 13}.${k % 10}\n`).join(""), says: /no times?|without times?|one column/i },
    { what: "no time", bytes: `x,y,z\n${Array.from({ length: 300 }, (_, k) => `${20_000 + (k % 9)},${-9_800 + (k % 7)},${50_000 + (k % 5)}\n`).join("")}`, says: /no (column of )?times?|without times?|cadence/i },
    { what: "a sensor unplugged", bytes: stamped(() => "17000,-300,45000"), says: /unplugged|never changes|same value|stuck|repeat|constant/i },
    { what: "counts without a scale", bytes: stamped((k) => `${312 + (k % 9)},${-164 + (k % 7)},${820 + (k % 5)}`), says: /count|unit/i },
    { what: "a magnet too near", bytes: stamped((k) => `${k % 3 === 0 ? 32767 : 32000 + (k % 50)},32767,-32768`), says: /saturat|limit of the sensor|end of its range|largest value|overflow/i },
];

for (const { what, bytes: content, says } of WARNED) {
    test(`P40 ${what} opens and is told of`, async () => {
        const seen = await visit(browser, server.url);
        const { page } = seen;
        await drop(page, "main", [{ name: "log.csv", bytes: content }]);
        await page.waitForFunction(
            () => document.querySelector("#step-read .step__remark")?.textContent || document.querySelector("#notices .notice"),
            undefined, { timeout: 20_000 });
        await settled(page);
        const told = await page.locator("main, #notices").allTextContents();
        assert.match(told.join(" "), says, told.join(" ").slice(0, 2500));
        await seen.close();
    });
}

test("P40 two files at once are both opened, and what each is for is said", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    const log = (first) => stamped((k) => `${first + (k % 9)},${-9_800 + (k % 7)},${50_000 + (k % 5)}`);
    await drop(page, "main", [{ name: "a.csv", bytes: log(20_000) }, { name: "b.csv", bytes: log(20_100) }]);
    await page.waitForFunction(() => document.querySelectorAll(".entry__name").length === 2, undefined, { timeout: 20_000 });
    const names = await page.locator(".entry__name").allTextContents();
    assert.equal(names.filter((name) => /^[ab]\.csv, the log$/.test(name)).length, 1, String(names));
    assert.ok(names.every((name) => /, (the log|opened, not used|the turning log|the reference)$/.test(name)), String(names));
    await seen.close();
});

test("P40 pasted CSV text works as a file does", async () => {
    const content = stamped((k) => `${20_000 + (k % 9)},${-9_800 + (k % 7)},${50_000 + (k % 5)}`);
    const read = async (give) => {
        const seen = await visit(browser, server.url);
        await give(seen.page);
        await seen.page.waitForSelector("#step-read .results dd", { timeout: 20_000 });
        await settled(seen.page);
        const told = [await results(seen.page, "read"), await results(seen.page, "elements")];
        await seen.close();
        return told;
    };
    const asFile = await read((page) => drop(page, "main", [{ name: "log.csv", bytes: content }]));
    assert.deepEqual(await read((page) => paste(page, "body", content)), asFile);
    assert.deepEqual(await read(async (page) => {
        await page.click("#paste-open");
        await page.fill("#paste-text", content);
        await page.click("#paste-read");
    }), asFile);
});
