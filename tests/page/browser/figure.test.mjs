// Figures: words and tables beside them, cursor, zoom, spans, colours, saving.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, assertSameOrigin } from "../lib/browser.mjs";
import { downloaded } from "../lib/files.mjs";
import { servePretended, visitDemo } from "../lib/pretend.mjs";
import { settled } from "../lib/screens.mjs";

const { browser, server } = await begun(servePretended());

const THRESHOLD = "#step-spikes-threshold";

const value = (page, selector) => page.locator(selector).inputValue();

test("the time by the reader's own clock stands beside UTC", async () => {
    const seen = await visitDemo(browser, server.url, { timezoneId: "Pacific/Auckland" });
    await seen.page.focus("input[type=range]");
    // 1 January 1970: New Zealand kept UTC+12 without summer time (IANA tz database, Pacific/Auckland).
    assert.match(await seen.page.textContent(".plate__readout"), /UTC.* \(720 min ahead\)$/);
    await seen.close();
});

/** The shown span of the figure, by what stands at both of its ends. */
async function ends(page) {
    const slider = page.locator("input[type=range]");
    await slider.focus();
    const read = async (key) => {
        await page.keyboard.press(key);
        return parseInt(await page.textContent(".plate__readout"), 10);
    };
    const from = await read("Home");
    return [from, await read("End")];
}

test("the figure zooms and pans by dragging, by keys and by buttons, and back", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    const whole = await ends(page);
    const room = await page.locator(".plate__room").boundingBox();
    const y = room.y + 60;
    const drag = async (from, to) => {
        await page.mouse.move(room.x + from, y);
        await page.mouse.down();
        await page.mouse.move(room.x + to, y, { steps: 4 });
        await page.mouse.up();
        await page.waitForTimeout(100);
    };
    await drag(200, 300);
    const near = await ends(page);
    assert.ok(near[1] - near[0] < (whole[1] - whole[0]) / 4, String(near));
    await page.keyboard.down("Shift");
    await drag(300, 250);
    await page.keyboard.up("Shift");
    const panned = await ends(page);
    assert.ok(panned[0] > near[0], String(panned));
    await page.click("text=Later");
    await page.waitForTimeout(100);
    assert.ok((await ends(page))[0] > panned[0]);
    await page.keyboard.press("0");
    await page.waitForTimeout(100);
    assert.deepEqual(await ends(page), whole);
    await page.keyboard.press("+");
    await page.waitForTimeout(100);
    assert.ok((await ends(page))[0] > whole[0]);
    await page.click("[aria-label='Back to the zoom before']");
    await page.waitForTimeout(100);
    assert.deepEqual(await ends(page), whole);
    await seen.close();
});

test("a span is marked without dragging and put into its slot", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.focus("#step-exclude-span");
    await settled(page);
    const slider = page.locator("input[type=range]");
    await slider.focus();
    await page.keyboard.press("Home");
    for (let steps = 0; steps < 5; steps += 1) await page.keyboard.press("ArrowRight");
    await page.keyboard.press("[");
    for (let steps = 0; steps < 9; steps += 1) await page.keyboard.press("ArrowRight");
    await page.keyboard.press("]");
    await page.click("text=Use this span");
    await page.waitForFunction(() => document.querySelector("#step-exclude-span").value !== "");
    assert.match(await value(page, "#step-exclude-span"), /^1970-01-01T02:30.*\/1970-01-01T07:00/);
    await seen.close();
});

test("a span is dragged on the figure when the slot asks for it", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.click("[aria-label='from the figure: Span left out']");
    await settled(page);
    const room = await page.locator(".plate__room").boundingBox();
    await page.mouse.move(room.x + 200, room.y + 60);
    await page.mouse.down();
    await page.mouse.move(room.x + 320, room.y + 60, { steps: 3 });
    await page.mouse.up();
    await page.click("text=Use this span");
    await page.waitForFunction(() => document.querySelector("#step-exclude-span").value !== "");
    await seen.close();
});

test("nothing is asked of another address, and nothing complains, from landing to saving", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.fill(THRESHOLD, "6");
    await page.press(THRESHOLD, "Enter");
    await page.click("text=Picture of histogram");
    await downloaded(page, () => page.click("[aria-label='Save the figure as SVG']"));
    await downloaded(page, () => page.getByRole("button", { name: "Save the procedure", exact: true }).click());
    await downloaded(page, () => page.click("text=Save the processed data"));
    assertSameOrigin(seen, server.origin);
    assertQuiet(seen);
    await seen.close();
});
