// Slots and steps: typing, refusing, committing, undoing, and what is said of it.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { servePretended, visitDemo } from "../lib/pretend.mjs";

const { browser, server } = await begun(servePretended());

const THRESHOLD = "#step-spikes-threshold";

const value = (page, selector) => page.locator(selector).inputValue();

test("Enter commits one undo step, which both the key and the button take back", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    assert.ok(await page.isDisabled("#undo"));
    await page.fill(THRESHOLD, "7,5");
    await page.press(THRESHOLD, "Enter");
    await page.waitForSelector("#undo:enabled");
    assert.match(await page.getAttribute("#undo", "aria-label"), /^Undo: spike threshold/);
    assert.equal(await value(page, THRESHOLD), "7.5");
    await page.keyboard.press("Control+z");
    await page.waitForSelector("#redo:enabled");
    assert.equal(await value(page, THRESHOLD), "5");
    await page.click("#redo");
    await page.waitForFunction((id) => document.querySelector(id).value === "7.5", THRESHOLD);
    await page.keyboard.press("Control+z");
    await page.waitForFunction((id) => document.querySelector(id).value === "5", THRESHOLD);
    await page.keyboard.press("Control+Shift+z");
    await page.waitForFunction((id) => document.querySelector(id).value === "7.5", THRESHOLD);
    await seen.close();
});

test("what is typed and not committed is undone by the field itself", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.focus(THRESHOLD);
    await page.keyboard.type("1");
    await page.keyboard.press("Control+z");
    assert.ok(await page.isDisabled("#redo"));
    await seen.close();
});

test("typing is tried out live, and the cursor stays in the field", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.fill(THRESHOLD, "");
    await page.type(THRESHOLD, "12", { delay: 160 });
    await page.waitForFunction(
        () => /Did it with 12, 11/.test(document.querySelector("#step-spikes-remark").textContent),
    );
    assert.equal(await value(page, THRESHOLD), "12");
    assert.ok(await page.isDisabled("#undo"));
    assert.ok(await page.$eval(THRESHOLD, (one) => one === document.activeElement));
    await seen.close();
});

test("steps are moved, switched and taken out by buttons, and keep the focus", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    const order = () => page.$$eval(".step", (all) => all.map((one) => one.id));
    await page.focus("[aria-label='Move down: Spikes']");
    await page.keyboard.press("Enter");
    await page.waitForFunction(() =>
        /exclude/.test(document.querySelectorAll(".step")[2]?.id ?? ""),
    );
    assert.deepEqual((await order()).slice(2, 4), ["step-exclude", "step-spikes"]);
    await page.click("[aria-label='Spikes: use this step']");
    await page.waitForSelector("#step-spikes[data-status=off]");
    await page.click("[aria-label='Take out: Exclude']");
    await page.waitForFunction(() => document.querySelector("#step-exclude") === null);
    await seen.close();
});

/** Types the threshold with which the pretended engine takes long. */
async function beginLongWork(page) {
    await page.fill(THRESHOLD, "13");
    await page.waitForFunction(() =>
        /Did it with 13, 11/.test(document.querySelector("#step-spikes-remark").textContent),
    );
}

test("whoever takes steps out by keys goes on at the one that follows", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    const taken = page.locator("#step-spikes").getByRole("button", { name: /^Take out/ });
    await taken.press("Enter");
    await page.waitForSelector("#step-spikes", { state: "detached" });
    await page.waitForFunction(() => document.activeElement !== document.body);
    assert.equal(await page.evaluate(() => document.activeElement?.closest(".step")?.id), "step-exclude");
    await seen.close();
});

test("long work shows the step in hand first, then a rising fraction until all is done", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await beginLongWork(page);
    assert.ok((await page.locator(".step[data-status=waiting]").count()) > 0);
    assert.match(await page.textContent("#step-calibrate-remark"), /Did it with/);
    await page.waitForSelector("#busy:not([hidden])");
    const fraction = () => page.$eval("#busy-bar", (bar) => bar.value);
    const early = await fraction();
    await page.waitForTimeout(150);
    assert.ok((await fraction()) > early);
    await page.waitForSelector("#busy", { state: "hidden" });
    assert.equal(await page.locator(".step[data-status=waiting]").count(), 0);
    await seen.close();
});

test("Cancel acts at once, leaves the results before it, and the page goes on", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.fill(THRESHOLD, "8");
    await page.press(THRESHOLD, "Enter");
    await page.waitForSelector("#undo:enabled");
    await beginLongWork(page);
    await page.waitForSelector("#busy:not([hidden])");
    const took = await page.evaluate(async () => {
        const began = performance.now();
        document.querySelector("#cancel").click();
        while (!document.querySelector("#busy").hidden) {
            await new Promise((done) => setTimeout(done, 5));
        }
        return performance.now() - began;
    });
    assert.ok(took <= 200, `${took} ms`);
    assert.match(await page.textContent("#step-spikes-remark"), /Did it with 8, 11/);
    await page.fill(THRESHOLD, "9");
    await page.waitForFunction(() =>
        /Did it with 9, 11/.test(document.querySelector("#step-spikes-remark").textContent),
    );
    await seen.close();
});

test("a newer edit takes over from long work that it makes needless", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await beginLongWork(page);
    const began = Date.now();
    await page.fill(THRESHOLD, "9");
    await page.waitForFunction(() =>
        /Did it with 9, 11/.test(document.querySelector("#step-spikes-remark").textContent),
    );
    // All of the long work would have taken 2.9 s more.
    assert.ok(Date.now() - began < 2000);
    assert.equal(await page.locator(".step[data-status=waiting]").count(), 0);
    await seen.close();
});
