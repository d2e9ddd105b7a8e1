// Who can use the page: acceptance statements P08 to P14 of the project's contract, on the real engine.

import assert from "node:assert/strict";
import { test } from "node:test";
import { pathToFileURL } from "node:url";
import { assertAccessible } from "../lib/axe.mjs";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { demoRun, openAll, openDemo } from "../lib/real.mjs";
import { settled, takePlate } from "../lib/read.mjs";
import { sidewaysScroll } from "../lib/screens.mjs";
import { contrast, focused, stops } from "../lib/focus.mjs";

const { browser, server } = await begun();
/** The demo, for what only looks at it or puts back what it changed. */
const demo = await openDemo(browser, server);

const LAPTOP = { width: 1366, height: 768 };
const PHONE = { width: 390, height: 844 };
const NARROW = { width: 320, height: 640 };

for (const colorScheme of /** @type {const} */ (["light", "dark"])) {
    test(`P08 every control is reached by Tab in reading order, with a ring that is seen, ${colorScheme}`, async () => {
        const seen = await openDemo(browser, server, { colorScheme });
        const { page } = seen;
        const found = await stops(page, 400);
        assert.ok(found.visited.length > 60, `${found.visited.length} reached`);
        for (const stop of found.visited) {
            assert.ok(stop.ring >= 2, `ring of ${stop.ring} px: ${stop.name}`);
            const ratio = contrast(stop.colour, stop.ground);
            assert.ok(ratio >= 3, `ring of ${ratio.toFixed(2)}:1: ${stop.name}`);
            assert.ok(!stop.covered, `covered: ${stop.name}`);
        }
        assert.deepEqual(found.missed, [], "never reached");
        assert.deepEqual(found.astray, [], "out of reading order");
        await seen.close();
    });
}

test("P09 every slot has its own name within its step, and its range in the description", async () => {
    const steps = await demo.page.$$eval(".step", (all) =>
        all.map((step) => ({
            id: step.id,
            slots: [...step.querySelectorAll(".slot__control")].map((control) => ({
                name: control.ariaLabel ?? "",
                said: (control.getAttribute("aria-describedby") ?? "")
                    .split(" ")
                    .map((id) => document.getElementById(id)?.textContent ?? "")
                    .join(""),
            })),
        })),
    );
    for (const { id, slots } of steps) {
        const names = slots.map(({ name }) => name);
        assert.equal(new Set(names).size, names.length, `${id}: ${names}`);
        for (const { name, said } of slots) {
            assert.ok(name !== "" && name.split(" ").length <= 4, `${id}: “${name}”`);
            assert.notEqual(said, "", `${id}, ${name} has no range`);
        }
    }
    assert.ok(steps.flatMap(({ slots }) => slots).length >= 30);
});

for (const colorScheme of /** @type {const} */ (["light", "dark"])) {
    test(`P10 the audit finds nothing on landing, refusal, demo and hand-in, ${colorScheme}`, async () => {
        const seen = await visit(browser, server.url, { colorScheme });
        const { page } = seen;
        await assertAccessible(page, "landing");
        await drop(page, "main", [{ name: "empty.csv", bytes: "" }]);
        await page.locator("#notices .notice").first().waitFor();
        await assertAccessible(page, "a refused file");
        await page.click("#demo");
        await demoRun(page);
        await assertAccessible(page, "demo");
        await page.fill("#step-spikes-threshold", "900");
        await page.waitForSelector("#step-spikes-threshold[aria-invalid=true]");
        await openAll(page);
        await assertAccessible(page, "demo and hand-in, a slot refused, all opened");
        await page.setViewportSize(PHONE);
        await settled(page);
        await assertAccessible(page, "on a phone");
        await page.press("#step-spikes-threshold", "Escape");
        await settled(page);
        const saved = await downloaded(page, () => page.getByText("Save the hand-in", { exact: true }).click());
        const paper = await seen.context.newPage();
        await paper.goto(pathToFileURL(saved.path).href);
        await assertAccessible(paper, "the hand-in itself");
        assertQuiet(seen);
        await seen.close();
    });
}

test("P11 every pointer target is at least 24 by 24 pixels", async () => {
    const { page } = demo;
    await openAll(page);
    for (const viewport of [LAPTOP, NARROW]) {
        await page.setViewportSize(viewport);
        await settled(page);
        const small = await page.evaluate(() => {
            const all = [...document.querySelectorAll("a[href], button, input, select, summary")];
            return all
                .filter((one) => one.checkVisibility() && !one.matches(".skip, .unseen"))
                .map((one) => ({ box: (one.closest("label") ?? one).getBoundingClientRect(), one }))
                .filter(({ box }) => box.width < 24 || box.height < 24)
                .map(({ box, one }) => `${one.outerHTML.slice(0, 80)} ${box.width}x${box.height}`);
        });
        assert.deepEqual(small, [], `${viewport.width} px`);
    }
    await page.setViewportSize(LAPTOP);
});

/**
 * What is cut off or stands beyond the window's edge.  A field of one line may hold a longer text
 * than its column is wide: then it fills the column and scrolls, and counts as whole.
 */
const cutOff = (page) =>
    page.evaluate(() => {
        const beyond = [...document.querySelectorAll("main :is(.slot, button, select, input, p, li, dd)")]
            .filter((one) => one.checkVisibility() && one.closest(".scroll, .unseen") === null)
            .filter((one) => one.getBoundingClientRect().right > window.innerWidth + 0.5);
        const clipped = [...document.querySelectorAll("input.slot__control, main button, main summary")]
            .filter((one) => one.checkVisibility() && one.scrollWidth > one.clientWidth + 1)
            .filter((one) => {
                const column = one.closest(".step__sentence")?.clientWidth ?? Infinity;
                return one.inputMode !== "text" || one.clientWidth < column - 40;
            });
        return [...beyond, ...clipped].map((one) => one.outerHTML.slice(0, 120));
    });

test("P12 at 320 by 640 nothing scrolls sideways, and every step and export can be worked", async () => {
    const { page } = demo;
    await page.setViewportSize(NARROW);
    await settled(page);
    await openAll(page);
    assert.equal(await sidewaysScroll(page), 0);
    assert.deepEqual(await cutOff(page), []);
    for (const switched of await page.locator(".step__switch input:visible").all()) {
        const step = await switched.evaluate((one) => one.closest(".step").id);
        await switched.click();
        await page.waitForFunction(
            (id) => document.getElementById(id).querySelector(".step__switch input").checked === false
                || document.getElementById(id).getAttribute("data-status") !== "off", step);
        await page.keyboard.press("Control+z");
    }
    await settled(page);
    await takePlate(page, "spectrum", "spectrum");
    assert.equal(await page.locator("#step-spectrum .plate").count(), 1, "the plate stands by its step");
    for (const name of ["as SVG", "as PNG", "as CSV"]) {
        const button = page.getByRole("button", { name: new RegExp(`^Save .*figure ${name}$`) });
        assert.ok((await downloaded(page, () => button.click())).bytes.length > 200, name);
    }
    for (const text of ["Save the hand-in", "Save everything as a zip", "Save the processed data", "Save the procedure"]) {
        const saved = await downloaded(page, () => page.getByText(text, { exact: true }).click());
        assert.ok(saved.bytes.length > 200, text);
    }
    assert.equal(await sidewaysScroll(page), 0);
    await page.setViewportSize(LAPTOP);
});

test("P12 with the text spacing of WCAG 1.4.12, and with text of 200 %, nothing is cut off", async () => {
    const { page } = demo;
    await openAll(page);
    const sheets = {
        // The four figures of WCAG 2.2, success criterion 1.4.12.
        spacing: `* { line-height: 1.5 !important; letter-spacing: 0.12em !important;
            word-spacing: 0.16em !important } p { margin-bottom: 2em !important }`,
        doubled: "html { font-size: 200% }",
    };
    for (const [what, text] of Object.entries(sheets)) {
        await page.evaluate((rules) => {
            const sheet = new window.CSSStyleSheet();
            sheet.replaceSync(rules);
            document.adoptedStyleSheets = [sheet];
        }, text);
        for (const viewport of [LAPTOP, PHONE, NARROW]) {
            await page.setViewportSize(viewport);
            await settled(page);
            assert.equal(await sidewaysScroll(page), 0, `${what}, ${viewport.width} px`);
            assert.deepEqual(await cutOff(page), [], `${what}, ${viewport.width} px`);
        }
    }
    await page.evaluate(() => { document.adoptedStyleSheets = []; });
    await page.setViewportSize(LAPTOP);
});

test("P13 ten quick edits are told in two texts at most, within 1.5 s of the last", async () => {
    const seen = await openDemo(browser, server);
    const { page } = seen;
    assert.equal(await page.locator("[role=status]").count(), 1);
    await page.waitForTimeout(1500);
    await page.focus("#step-spikes-threshold");
    const told = page.evaluate(async () => {
        const region = document.getElementById("status");
        const said = [];
        let last = 0;
        const input = document.getElementById("step-spikes-threshold");
        new MutationObserver(() => said.push({ text: region.textContent, at: performance.now() }))
            .observe(region, { childList: true, characterData: true, subtree: true });
        input.addEventListener("keydown", () => { last = performance.now(); });
        await new Promise((done) => setTimeout(done, 8000));
        return said.map(({ text, at }) => ({ text, after: at - last }));
    });
    for (let edits = 0; edits < 10; edits += 1) {
        await page.keyboard.press("ArrowUp");
        await page.waitForTimeout(60);
    }
    const said = (await told).filter(({ text }) => text !== "");
    assert.ok(said.length >= 1 && said.length <= 2, JSON.stringify(said));
    const { text, after: late } = said.at(-1);
    console.log(`P13: the last of ${said.length} texts came ${late.toFixed(0)} ms after the last edit`);
    assert.match(text, /^Spikes: /);
    assert.match(text, /later steps? follow/);
    assert.ok(late <= 1500 + 500, `${late} ms`);
    await seen.close();
});

/** How much of the figure is no blend of the system's colours for text, ground, mark and grey text. */
const strangeColours = (page) =>
    page.evaluate(() => {
        const system = (name) => {
            const probe = document.createElement("span");
            probe.style.color = name;
            document.body.append(probe);
            const parts = getComputedStyle(probe).color.match(/[\d.]+/g).map(Number);
            probe.remove();
            return parts.slice(0, 3);
        };
        const corners = ["Canvas", "CanvasText", "Highlight", "GrayText"].map(system);
        const canvas = document.querySelector(".plate__canvas");
        const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
        const far = (a, b) => Math.max(...a.map((v, k) => Math.abs(v - b[k])));
        const dot = (a, b) => a.reduce((sum, v, k) => sum + v * b[k], 0);
        const to = (a, b) => b.map((v, k) => v - a[k]);
        // Edges are smoothed, so a pixel may stand anywhere between up to three of the colours.
        const isWithin = (pixel, [a, b, c]) => {
            const [u, v, w] = [to(a, b), to(a, c), to(a, pixel)];
            const [uu, uv, vv, uw, vw] = [dot(u, u), dot(u, v), dot(v, v), dot(u, w), dot(v, w)];
            const size = uu * vv - uv * uv;
            const [s, t] = size < 1 ? [uu > 0 ? uw / uu : 0, 0] : [(vv * uw - uv * vw) / size, (uu * vw - uv * uw) / size];
            const on = a.map((start, k) => start + s * u[k] + t * v[k]);
            return s > -0.05 && t > -0.05 && s + t < 1.05 && far(on, pixel) <= 8;
        };
        // All four meet where a mark lies on dots that lie on a line.
        const isInside = (pixel) => {
            const [u, v, w, p] = [...corners.slice(1), pixel].map((one) => to(corners[0], one));
            const volume = (a, b, c) =>
                a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
            const whole = volume(u, v, w);
            const parts = [volume(p, v, w), volume(u, p, w), volume(u, v, p)].map((part) => part / whole);
            return whole !== 0 && [...parts, 1 - parts[0] - parts[1] - parts[2]].every((part) => part > -0.02);
        };
        const triangles = [[0, 1, 2], [0, 1, 3], [0, 2, 3], [1, 2, 3]].map((three) => three.map((k) => corners[k]));
        const known = new Map();
        let [strange, inked] = [0, 0];
        for (let at = 0; at < data.length; at += 4) {
            const pixel = [data[at], data[at + 1], data[at + 2]];
            const key = (pixel[0] << 16) | (pixel[1] << 8) | pixel[2];
            if (!known.has(key)) known.set(key, triangles.some((one) => isWithin(pixel, one)) || isInside(pixel));
            if (!known.get(key)) strange += 1;
            if (far(pixel, corners[0]) > 40) inked += 1;
        }
        const which = [...known].filter(([, fits]) => !fits).map(([key]) => key.toString(16));
        return { inked, strange, which: which.slice(0, 8) };
    });

for (const colorScheme of /** @type {const} */ (["light", "dark"])) {
    test(`P14 in forced colours the figures have the system's colours alone, ${colorScheme}`, async () => {
        const seen = await openDemo(browser, server, { forcedColors: "active", colorScheme });
        const { page } = seen;
        for (const [step, figure] of [["spikes", "series"], ["spectrum", "spectrum"], ["calibrate", "calibration"]]) {
            await takePlate(page, step, figure);
            const { inked, strange, which } = await strangeColours(page);
            assert.ok(inked > 500, `${figure} shows nothing`);
            assert.equal(strange, 0, `${figure} has other colours: ${which}`);
        }
        await seen.close();
    });
}

test("P14 two channels in one frame differ without colour: each has its own marker", async () => {
    const { page } = demo;
    await takePlate(page, "spectrum", "spectrum");
    const save = page.getByRole("button", { name: "Save the figure as SVG" });
    const svg = (await downloaded(page, () => save.click())).bytes.toString("utf8");
    // A marker is a short closed path in its line's colour; its form is what follows the first place.
    const paths = [...svg.matchAll(/<path stroke="(#\w+)"[^>]* d="M[-\d.]+ [-\d.]+([^"]{10,60})"/g)];
    const forms = new Map(paths.map(([, colour, form]) => [colour, form.replace(/[-\d. ]+/g, " ")]));
    const lines = new Set([...svg.matchAll(/<path stroke="(#\w+)" stroke-width="1.2"[^>]* d="[^"]{2000,}"/g)].map(([, colour]) => colour));
    assert.equal(lines.size, 3, "three channels are drawn");
    const marks = [...lines].map((colour) => forms.get(colour));
    assert.ok(marks.every((form) => form !== undefined), JSON.stringify([...forms]));
    assert.equal(new Set(marks).size, 3, JSON.stringify(marks));
});

test("P14 with reduced motion no animation runs", async () => {
    const seen = await openDemo(browser, server, { reducedMotion: "reduce" });
    const { page } = seen;
    await page.locator(".plate__room").hover();
    await page.getByRole("button", { name: "Nearer" }).click();
    const running = await page.evaluate(() => {
        const moving = document.getAnimations().filter((one) => one.playState === "running").length;
        const timed = [...document.querySelectorAll("*")].filter((one) => {
            const { transitionDuration, animationName, scrollBehavior } = getComputedStyle(one);
            const isTimed = transitionDuration.split(",").some((time) => parseFloat(time) > 0);
            return isTimed || animationName !== "none" || scrollBehavior === "smooth";
        });
        return { moving, timed: timed.length };
    });
    assert.deepEqual(running, { moving: 0, timed: 0 });
    assert.ok(await focused(page) !== null);
    await seen.close();
});
