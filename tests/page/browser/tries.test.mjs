// The first visit teaches itself: three things to try on the demo log, then a log of one's own.

import assert from "node:assert/strict";
import { join } from "node:path";
import { test } from "node:test";
import { audit } from "../lib/axe.mjs";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, visit } from "../lib/browser.mjs";
import { demoShown } from "../lib/demo.mjs";
import { dropPath } from "../lib/files.mjs";
import { demoData, dist } from "../lib/places.mjs";
import { settled } from "../lib/read.mjs";
import { serve } from "../lib/server.mjs";

const { browser, server } = await begun(serve(dist));

const ticked = (page) =>
    page.locator(".tries li").evaluateAll((items) =>
        items.map((item) => !item.querySelector(".tries__tick").hidden));

const focused = (page) => page.evaluate(() => document.activeElement?.closest("[id]")?.id);

test("from the landing a press shows the demo's result with three things to try, each a press from its place", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    assert.ok(!(await page.locator(".tries").isVisible()), "nothing on the landing");
    await page.click("#demo");
    await demoShown(page);
    assert.deepEqual(await ticked(page), [false, false, false]);
    const own = page.locator(".tries > p").last();
    assert.ok(!(await own.isVisible()));
    assert.deepEqual(await audit(page), []);
    for (const box of await page.locator(".tries button:visible").evaluateAll((all) =>
        all.map((one) => one.getBoundingClientRect().toJSON()))) {
        assert.ok(box.height >= 24 && box.width >= 24, `${box.width} by ${box.height}`);
    }
    const press = (nth) => page.locator(".tries li button").nth(nth).click();

    await press(0);
    assert.equal(await focused(page), "step-spikes-threshold");
    const before = await page.locator("#step-spikes-remark").textContent();
    await page.locator("#step-spikes-threshold").fill("2");
    await page.keyboard.press("Enter");
    await page.waitForFunction((old) =>
        document.querySelector("#step-spikes-remark").textContent !== old, before);
    await settled(page);
    assert.match(await page.locator("#step-spikes-remark").textContent(), /^Marked \d,\d{3} of/);
    assert.deepEqual(await ticked(page), [true, false, false]);

    await press(1);
    await page.waitForSelector("#step-shifts[data-in-hand]");
    assert.match(await page.locator("#step-shifts .results").textContent(), /5 May 2026 08:41.*5 May 2026 15:27/s);
    assert.deepEqual(await ticked(page), [true, true, false]);

    await press(2);
    assert.equal(await focused(page), "step-calibrate");
    await page.keyboard.press("Space");
    await page.waitForFunction(() =>
        [...document.querySelectorAll(".tries__tick")].every((tick) => !tick.hidden));
    await settled(page);
    assert.match(await page.locator("#step-elements-remark").textContent(), /declination −1[0-9]/);
    await page.keyboard.press("Space");
    await settled(page);
    assert.deepEqual(await ticked(page), [true, true, true], "what was tried stays ticked");

    assert.ok(await own.isVisible());
    const chooser = page.waitForEvent("filechooser");
    await own.getByRole("button", { name: "Open a log" }).click();
    await chooser;
    assertQuiet(seen);
    await seen.close();
});

test("put away, they stay away; the focus stays in the procedure", async () => {
    const seen = await visit(browser, `${server.url}#demo`);
    const { page } = seen;
    await demoShown(page);
    await page.getByRole("button", { name: "Put away" }).click();
    assert.ok(!(await page.locator(".tries").isVisible()));
    assert.equal(await focused(page), "procedure");
    await page.reload();
    await demoShown(page);
    assert.ok(!(await page.locator(".tries").isVisible()));
    await seen.close();
});

test("an own log and a lesson have nothing to try", async () => {
    const own = await visit(browser, server.url);
    await dropPath(own.page, "main", join(demoData, "tern-skerry-10-days.csv"));
    await own.page.waitForSelector("#step-read .step__remark", { timeout: 60_000 });
    await settled(own.page);
    assert.ok(!(await own.page.locator(".tries").isVisible()));
    await own.close();
    const lesson = await visit(browser, `${server.url}#lesson=lessons/first-look.json`);
    await lesson.page.waitForSelector("#step-read .step__remark", { timeout: 60_000 });
    assert.ok(!(await lesson.page.locator(".tries").isVisible()));
    await lesson.close();
});
