// Figures as instruments: acceptance statements P15 to P18, P23, P37 and P39 of the project's
// contract, on the real engine.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { slow, visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { readPng } from "../lib/png.mjs";
import { BUSY, demoRun, median, openDemo } from "../lib/real.mjs";
import { rows, settled, takePlate, type } from "../lib/read.mjs";

const { browser, server } = await begun();
const demo = await openDemo(browser, server);

const named = (page, name) => page.getByRole("button", { name, exact: true });
const save = (page, name) => downloaded(page, () => named(page, name).click());
const words = (page) => page.textContent("figcaption .plate__words");

/** How many sentences a text has: a number's point is followed by a digit, a sentence's by a space. */
const sentences = (text) => text.split(/[.!?](?:\s+(?=[\p{Lu}\p{Ll}−\d])|$)/u).filter((one) => one.trim() !== "");

test("P15 each figure has a caption, a summary of 2 to 4 sentences with units, and a table", async () => {
    const { page } = demo;
    const plates = await page.$$eval(".step__plates button", (all) =>
        all.map((one) => [one.closest(".step").id.slice("step-".length), one.dataset.figure]));
    assert.ok(plates.length >= 15);
    for (const [step, figure] of plates) {
        await takePlate(page, step, figure);
        const what = `${step}, ${figure}`;
        const caption = await page.textContent(".plate__caption");
        assert.match(caption, /^Plate \d+\. .{20,}/, what);
        const told = await words(page);
        const count = sentences(told).length;
        assert.ok(count >= 2 && count <= 4, `${what} has ${count} sentences: ${told}`);
        assert.match(told, /\d\s?(nT|µT|°|%|UTC|h\b|d\b|s\b|Hz|days?|samples|intervals)|areas/, `${what}: ${told}`);
        await page.locator(".plate details", { hasText: "The numbers" }).evaluate((one) => { one.open = true; });
        await page.waitForSelector(".plate table caption");
        const table = await page.locator(".plate table").evaluate((one) => ({
            rows: one.tBodies[0].rows.length,
            heads: [...one.querySelectorAll("thead th")].map((head) => head.scope),
            firsts: [...one.querySelectorAll("tbody th")].map((head) => head.scope),
            caption: one.caption.textContent,
        }));
        assert.ok(table.rows >= 2 && table.rows <= 100, `${what}: ${table.rows} rows`);
        assert.ok(table.heads.length >= 2 && table.heads.every((scope) => scope === "col"), what);
        assert.ok(table.firsts.every((scope) => scope === "row"), what);
        assert.match(table.caption, /rows?/, what);
    }
});

test("P15 the summary follows the procedure", async () => {
    const { page } = demo;
    await takePlate(page, "spikes", "series");
    const before = await words(page);
    await type(page, "spikes", "threshold", "20");
    assert.notEqual(await words(page), before);
    await page.click("#undo");
    await page.waitForFunction((old) => document.querySelector("figcaption .plate__words").textContent === old, before);
});

test("P16 the cursor by keys and the pointer read the same words at the same sample", async () => {
    const { page } = demo;
    for (const [step, figure] of [["read", "series"], ["spectrum", "spectrum"]]) {
        await takePlate(page, step, figure);
        const room = await page.locator(".plate__room").boundingBox();
        const slider = page.getByRole("slider", { name: "Cursor on the figure" });
        for (const share of [0.3, 0.62, 0.85]) {
            await page.mouse.move(room.x + share * room.width, room.y + room.height / 3);
            const read = await page.textContent(".plate__readout");
            assert.match(read, step === "read" ? /UTC.*nT.*°C/ : /Hz.*period.*nT²\/Hz/);
            assert.equal(await slider.getAttribute("aria-valuetext"), read);
            await slider.focus();
            await page.keyboard.press("ArrowRight");
            assert.notEqual(await page.textContent(".plate__readout"), read);
            await page.keyboard.press("ArrowLeft");
            assert.equal(await page.textContent(".plate__readout"), read);
        }
    }
});

/** The two ends of what is shown, in the words of the cursor. */
async function ends(page) {
    await settled(page);
    const slider = page.getByRole("slider", { name: "Cursor on the figure" });
    await slider.focus();
    await page.keyboard.press("Home");
    const from = await page.textContent(".plate__readout");
    await page.keyboard.press("End");
    const to = await page.textContent(".plate__readout");
    return [from.split(" UTC")[0], to.split(" UTC")[0]];
}

test("P17 zoom, pan, span and the order of steps need no dragging", async () => {
    const { page } = demo;
    await takePlate(page, "read", "series");
    const whole = await ends(page);
    await named(page, "Nearer").click();
    await named(page, "Nearer").click();
    const near = await ends(page);
    assert.notDeepEqual(near, whole);
    await named(page, "Earlier: pan left").click();
    const panned = await ends(page);
    assert.notDeepEqual(panned, near);
    await takePlate(page, "spikes", "series");
    assert.deepEqual(await ends(page), panned, "the axes of time are linked");
    await named(page, "Back to the zoom before").click();
    assert.deepEqual(await ends(page), near);
    await named(page, "All of the figure").click();
    assert.deepEqual(await ends(page), whole);

    await page.focus("#step-elements-span");
    await settled(page);
    await page.getByRole("slider", { name: "Cursor on the figure" }).focus();
    for (const key of ["Home", "ArrowRight", "[", "PageUp", "]"]) await page.keyboard.press(key);
    await page.click("text=Use this span");
    await page.waitForFunction(() => document.querySelector("#step-elements-span").value !== "");
    assert.match(await page.inputValue("#step-elements-span"), /^2026-05-\d\dT[\d:]+Z\/2026-0\d-\d\dT[\d:]+Z$/);
    await settled(page);
    await page.click("#undo");
    await page.waitForFunction(() => document.querySelector("#step-elements-span").value === "");

    const order = () => page.$$eval(".step", (all) => all.map((one) => one.id));
    const before = await order();
    await page.click("[aria-label='Move up: Spikes']");
    await page.waitForFunction((old) => [...document.querySelectorAll(".step")].map((one) => one.id).join() !== old, before.join());
    await settled(page);
    await page.click("#undo");
    await page.waitForFunction((old) => [...document.querySelectorAll(".step")].map((one) => one.id).join() === old, before.join());
    await settled(page);
});

test("P17 the wheel over a figure scrolls the page, with Ctrl it zooms, and a pinch too", async () => {
    const { page } = demo;
    await page.setViewportSize({ width: 1093, height: 480 });
    await takePlate(page, "read", "series");
    const whole = await ends(page);
    await page.locator("#plates").evaluate((one) => { one.scrollTop = 0; });
    const room = await page.locator(".plate__room").boundingBox();
    await page.mouse.move(room.x + room.width / 2, room.y + 40);
    await page.keyboard.down("Control");
    await page.mouse.wheel(0, -100);
    await page.keyboard.up("Control");
    const near = await ends(page);
    assert.notDeepEqual(near, whole);
    const places = () => page.evaluate(() => window.scrollY + document.querySelector("#plates").scrollTop);
    await page.locator("#plates").evaluate((one) => { one.scrollTop = 0; });
    const before = await places();
    await page.mouse.move(room.x + room.width / 2, room.y + 40);
    await page.mouse.wheel(0, 600);
    await page.waitForFunction((old) => window.scrollY + document.querySelector("#plates").scrollTop > old, before);
    assert.deepEqual(await ends(page), near);
    await page.locator(".plate__room").evaluate((one) => {
        const { left, top } = one.getBoundingClientRect();
        const finger = (kind, pointerId, x) => one.dispatchEvent(new PointerEvent(kind, {
            pointerId, pointerType: "touch", button: 0, clientX: left + x, clientY: top + 40, bubbles: true,
        }));
        one.setPointerCapture = () => undefined;
        finger("pointerdown", 11, 200);
        finger("pointerdown", 12, 240);
        finger("pointermove", 12, 320);
        finger("pointerup", 12, 320);
        finger("pointerup", 11, 200);
    });
    assert.notDeepEqual(await ends(page), near);
    await named(page, "All of the figure").click();
    assert.deepEqual(await ends(page), whole);
    await page.setViewportSize({ width: 1366, height: 768 });
});

/** Slots of several steps, each with two values to go between, and the plate that is looked at. */
const EDITS = [
    { step: "spikes", slot: "threshold", figure: "series", values: ["5", "6"] },
    { step: "gate", slot: "field_limit", figure: "series", values: ["190000", "200000"] },
    { step: "average", slot: "coverage", figure: "series", values: ["70", "80"] },
    { step: "calibrate", slot: "reject", figure: "calibration", values: ["3.5", "4"] },
    { step: "orient", slot: "azimuth", figure: "series", values: ["13.5", "12.5"] },
    { step: "spectrum", slot: "overlap", figure: "spectrum", values: ["60", "50"] },
    { step: "k-index", slot: "k9", figure: "k-index", values: ["900", "920"] },
];

/** Begins to note when the figure is drawn, and whether it is ever blank. */
const watchDrawing = (page) =>
    page.evaluate(() => {
        globalThis.drawn = [];
        const { prototype } = window.CanvasRenderingContext2D;
        const { setTransform } = prototype;
        prototype.setTransform = function noted(...given) {
            globalThis.drawn.push(performance.now());
            return setTransform.apply(this, given);
        };
    });

/** Types a value, commits it with Enter, and waits for the drawing: milliseconds, and blank frames. */
const timeEdit = (page, id, text) =>
    page.evaluate(async ({ selector, value }) => {
        const canvas = document.querySelector(".plate__canvas");
        const small = Object.assign(document.createElement("canvas"), { width: 64, height: 48 }).getContext("2d", { willReadFrequently: true });
        const isBlank = () => {
            small.clearRect(0, 0, 64, 48);
            small.drawImage(canvas, 0, 0, 64, 48);
            const { data } = small.getImageData(0, 0, 64, 48);
            return data.every((part, at) => part === data[at % 4]);
        };
        const input = document.querySelector(selector);
        input.value = value;
        input.dispatchEvent(new window.Event("input", { bubbles: true }));
        globalThis.drawn.length = 0;
        const began = performance.now();
        input.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", bubbles: true }));
        let blanks = 0;
        while (globalThis.drawn.length === 0 && performance.now() - began < 10_000) {
            await new Promise((done) => setTimeout(done, 2));
            if (isBlank()) blanks += 1;
        }
        return { took: globalThis.drawn[0] - began, blanks };
    }, { selector: id, value: text });

/** The times of every edit of the list. */
async function timeEdits(page, rounds) {
    const found = [];
    for (const { step, slot, figure, values } of EDITS) {
        await takePlate(page, step, figure);
        await page.focus(`#step-${step}-${slot}`);
        for (let round = 0; round < rounds; round += 1) {
            for (const value of values) {
                found.push({ step, ...(await timeEdit(page, `#step-${step}-${slot}`, value)) });
                await settled(page);
            }
        }
    }
    return found;
}

test("P18 an edit of a slot on the demo of sixty days redraws the figure in sight within 100 ms, slow 400 ms", async () => {
    // The bars are for this machine at rest.  Other work may share it, so the test fails only at
    // three times the bar, and prints what was measured.  The browser slows the page alone, not its
    // worker, so four times the plain median is printed as the upper bound beside the slowed one.
    const { page } = demo;
    await watchDrawing(page);
    const plain = await timeEdits(page, 1);
    await slow(page, 4);
    const slowed = await timeEdits(page, 1);
    await slow(page, 1);
    const middle = median(plain.map(({ took }) => took));
    const slowMiddle = median(slowed.map(({ took }) => took));
    const each = EDITS.map(({ step }) => {
        const own = plain.filter((one) => one.step === step).map(({ took }) => took);
        return `${step} ${median(own).toFixed(0)}`;
    });
    console.log(`P18: median ${middle.toFixed(0)} ms of 100 (${each.join(", ")}); page slowed fourfold ` +
        `${slowMiddle.toFixed(0)} ms of 400, at most ${(4 * middle).toFixed(0)} with its worker slowed too`);
    for (const { step, took, blanks } of [...plain, ...slowed]) {
        assert.equal(blanks, 0, `${step} was blank meanwhile`);
        assert.ok(took >= 0, `${step} was never drawn`);
    }
    assert.ok(middle <= 100 * BUSY, `${middle} ms`);
    assert.ok(slowMiddle <= 400 * BUSY, `${slowMiddle} ms`);
});

test("P23 one sample among a million that stands off is seen at full zoom-out", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await page.evaluate(() => {
        const spike = 637_411;
        const parts = ["time,x_nT\n"];
        for (let block = 0; block < 100; block += 1) {
            const lines = [];
            for (let k = block * 10_000; k < (block + 1) * 10_000; k += 1) {
                lines.push(`${1_777_593_600 + k},${k === spike ? 20_900 : 20_000 + (k % 5)}\n`);
            }
            parts.push(lines.join(""));
        }
        const transfer = new DataTransfer();
        transfer.items.add(new File(parts, "million.csv"));
        document.querySelector("main").dispatchEvent(new DragEvent("drop", { dataTransfer: transfer, bubbles: true }));
    });
    await page.waitForSelector("#step-read .step__plates button", { timeout: 60_000 });
    await settled(page);
    await takePlate(page, "read", "series");
    const found = await page.evaluate(() => {
        const canvas = document.querySelector(".plate__canvas");
        const { width, height } = canvas;
        const { data } = canvas.getContext("2d").getImageData(0, 0, width, height);
        const token = getComputedStyle(document.documentElement).getPropertyValue("--paper").trim();
        const paper = [1, 3, 5].map((at) => parseInt(token.slice(at, at + 2), 16));
        // Pixels of the trace's own colour: bluish, as the first channel is.
        const isTrace = (at) => data[at + 2] - data[at] > 50 && Math.abs(data[at + 2] - paper[2]) > 20;
        const columns = [];
        for (let x = 0; x < width; x += 1) {
            let top = height;
            for (let y = 0; y < height && top === height; y += 1) {
                if (isTrace((y * width + x) * 4)) top = y;
            }
            columns.push(top);
        }
        const drawn = columns.map((top, x) => ({ top, x })).filter(({ top }) => top < height);
        const level = drawn.map(({ top }) => top).sort((a, b) => a - b)[Math.floor(drawn.length / 2)];
        const high = drawn.filter(({ top }) => top < level - height / 3).map(({ x }) => x);
        const [first, last] = [drawn[0].x, drawn.at(-1).x];
        return { high, share: (high[0] - first) / (last - first) };
    });
    assert.ok(found.high.length >= 1 && found.high.length <= 4, `columns that stand off: ${found.high}`);
    assert.ok(Math.abs(found.share - 0.637411) < 0.01, `it stands at ${found.share}`);
    await seen.close();
});

test("P37 a PNG of 170 mm at 300 dpi is 2008 pixels wide and says so", async () => {
    const { page } = demo;
    await takePlate(page, "spikes", "series");
    const png = await save(page, "Save the figure as PNG");
    // 300 / 0.0254 = 11,811.02 pixels a metre; 170 / 25.4 * 300 = 2007.9.
    assert.deepEqual(readPng(png.bytes), { width: 2008, height: 1181, perMetre: { x: 11_811, y: 11_811 } });
    assert.match(png.name, /^[a-z0-9.-]{1,60}\.png$/);
});

test("P37 every figure's SVG parses, has text of 7 pt or more, title, desc and size, and asks for nothing", async () => {
    const { page } = demo;
    for (const [step, figure] of [["spikes", "series"], ["calibrate", "calibration"], ["calibrate", "directions"],
        ["elements", "angles"], ["spectrum", "spectrum"], ["quiet-day", "quiet-day"], ["k-index", "k-index"]]) {
        await takePlate(page, step, figure);
        const text = (await save(page, "Save the figure as SVG")).bytes.toString("utf8");
        const found = await page.evaluate((source) => {
            const drawn = new window.DOMParser().parseFromString(source, "image/svg+xml");
            const root = drawn.documentElement;
            const sizes = [...drawn.querySelectorAll("[font-size]")].map((one) => parseFloat(one.getAttribute("font-size")));
            const [, , across] = (root.getAttribute("viewBox") ?? "").split(" ").map(Number);
            const outside = [...drawn.querySelectorAll("*")].flatMap((one) => [...one.attributes])
                .filter(({ name, value }) => /href|src/.test(name) ? !value.startsWith("#") : /url\((?!#)/.test(value));
            return {
                fails: drawn.querySelector("parsererror") !== null,
                texts: drawn.querySelectorAll("text").length,
                title: drawn.querySelector("svg > title")?.textContent ?? "",
                desc: drawn.querySelector("svg > desc")?.textContent ?? "",
                width: root.getAttribute("width"),
                // A point is 25.4 / 72 mm.
                smallest: (Math.min(...sizes) * (170 / across)) / (25.4 / 72),
                scripts: drawn.querySelectorAll("script, foreignObject, image").length,
                outside: outside.length,
            };
        }, text);
        assert.equal(found.fails, false, figure);
        assert.ok(found.texts >= 5, `${figure}: ${found.texts} texts`);
        assert.ok(found.title.length > 20 && found.desc.length > 40, figure);
        assert.equal(found.width, "170mm", figure);
        assert.ok(found.smallest >= 7, `${figure}: text of ${found.smallest} pt`);
        assert.deepEqual([found.scripts, found.outside], [0, 0], figure);
    }
});

test("P39 the numbers of a figure, opened by the page again, are the drawn values exactly", async () => {
    const { page } = demo;
    await takePlate(page, "read", "series");
    // Near enough that every sample is drawn for itself.
    for (let times = 0; times < 9; times += 1) {
        await named(page, "Nearer").click();
        await settled(page);
    }
    const csv = await save(page, "Save the numbers of the figure as CSV");
    const drawn = rows(csv.bytes.toString("utf8"));
    assert.ok(drawn.length > 100, `${drawn.length} rows`);
    const again = await visit(browser, server.url);
    await drop(again.page, "main", [{ name: csv.name, bytes: csv.bytes }]);
    await again.page.waitForSelector("#step-read .step__plates button", { timeout: 60_000 });
    await settled(again.page);
    await takePlate(again.page, "read", "series");
    const reread = rows((await save(again.page, "Save the numbers of the figure as CSV")).bytes.toString("utf8"));
    assert.deepEqual(reread, drawn);
    await again.close();
    await named(page, "All of the figure").click();
    await settled(page);
});

test("P39 the form for a spreadsheet has a byte-order mark, no # lines, and a decimal comma where it is chosen", async () => {
    const { page } = demo;
    await takePlate(page, "k-index", "k-index");
    await takePlate(page, "elements", "angles");
    const plain = rows((await save(page, "Save the numbers of the figure as CSV")).bytes.toString("utf8"));
    await page.getByText("Size and form of what is saved").click();
    const forms = { point: { mark: ".", between: "," }, comma: { mark: ",", between: ";" } };
    for (const [choice, { mark, between }] of Object.entries(forms)) {
        await page.getByLabel("Spreadsheet decimals").selectOption(choice);
        const { bytes, name } = await save(page, "CSV for a spreadsheet");
        assert.match(name, /-sheet.*\.csv$/);
        assert.deepEqual([...bytes.subarray(0, 3)], [0xef, 0xbb, 0xbf]);
        const lines = bytes.toString("utf8").slice(1).split("\r\n").filter((line) => line !== "");
        assert.ok(lines.every((line) => !line.startsWith("#")));
        const cells = lines.map((line) => line.split(between));
        assert.equal(cells.length, plain.length);
        const asPlain = ([time, ...numbers]) => [`${time.replace(" ", "T")}Z`, ...numbers.map((one) => one.replace(mark, "."))];
        assert.deepEqual(cells.slice(1).map(asPlain), plain.slice(1));
        assert.match(cells[1][0], /^\d{4}-\d\d-\d\d \d\d:\d\d:\d\d$/);
    }
    const whole = await downloaded(page, () => page.getByText("Processed data for a spreadsheet").click());
    const [head, first] = whole.bytes.toString("utf8").split("\r\n");
    assert.match(head, /^\ufefftime;/);
    assert.match(first, /^2026-05-01 00:00:00;/);
    assert.deepEqual(demo.complaints, []);
});

test("presets set the size of what is saved, and ? lists the keys", async () => {
    const { page } = demo;
    const use = page.locator(".save select").first();
    await page.locator(".plate details").evaluateAll((all) => all.forEach((one) => { one.open = true; }));
    await use.selectOption("slide");
    const png = readPng((await save(page, "Save the figure as PNG")).bytes);
    // 254 mm at 150 dots per inch: 254 / 25.4 * 150 = 1500.
    assert.equal(png.width, 1500);
    await page.getByLabel("Width / mm").fill("100");
    assert.equal(await use.inputValue(), "own");
    await page.focus("#procedure");
    await page.keyboard.press("?");
    const list = page.getByRole("dialog", { name: "Keys and gestures" });
    await list.waitFor();
    for (const key of ["Ctrl+Z", "Page Up, Page Down", "[ ]", "Two fingers"]) {
        assert.equal(await list.getByText(key, { exact: true }).count(), 1, key);
    }
    await list.getByLabel("Open this list with the key ?").uncheck();
    await page.keyboard.press("Escape");
    await list.waitFor({ state: "hidden" });
    await page.keyboard.press("?");
    assert.equal(await list.count(), 0);
    await page.click("#keys");
    await list.waitFor();
    await list.getByRole("button", { name: "Close" }).click();
    await demoRun(page);
});
