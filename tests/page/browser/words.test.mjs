// The trade's words: every one can be asked for, and nobody's way by Tab grows longer for it.

import assert from "node:assert/strict";
import { test } from "node:test";
import { pathToFileURL } from "node:url";
import { audit } from "../lib/axe.mjs";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, visit } from "../lib/browser.mjs";
import { demoShown } from "../lib/demo.mjs";
import { dist, oneFile } from "../lib/places.mjs";
import { settled } from "../lib/read.mjs";
import { serve } from "../lib/server.mjs";

const { browser, server } = await begun(serve(dist));

async function demo(address = `${server.url}#demo`) {
    const seen = await visit(browser, address);
    if (!address.includes("#demo")) {
        await seen.page.click("#demo");
    }
    await demoShown(seen.page);
    return seen;
}

const openWhy = async (page, step) => {
    await page.locator(`#step-${step} .why > summary`).click();
    await page.waitForSelector(`#step-${step} .why__words button`);
};

/** Controls that Tab reaches outside of opened Whys. */
const stops = (page) => page.evaluate(() =>
    [...document.querySelectorAll("button, input, select, a[href], summary, [tabindex='0']")]
        .filter((one) => one.closest(".why__words") === null).length);

test("an opened Why lists the words of its step; a note tells one, and Escape leads back", async () => {
    const seen = await demo();
    const { page } = seen;
    const methods = await page.locator(".handin__methods").allTextContents();
    const sentence = await page.locator("#step-calibrate-sentence").textContent();
    // The step in hand has its own plate with controls of its own.
    await page.click("#step-calibrate-title");
    await page.waitForSelector("#step-calibrate[data-in-hand]");
    await settled(page);
    const before = await stops(page);
    await openWhy(page, "calibrate");
    assert.equal(await stops(page), before, "no stop is added but in the list");
    assert.equal(await page.locator("#step-calibrate-sentence").textContent(), sentence);
    assert.deepEqual(await page.locator(".handin__methods").allTextContents(), methods);
    const words = page.locator("#step-calibrate .why__words");
    for (const word of ["hard iron", "soft iron", "residual"]) {
        const button = words.getByRole("button", { name: word, exact: true });
        const box = await button.boundingBox();
        assert.ok(box.height >= 24 && box.width >= 24, `${word}: ${box.width} by ${box.height}`);
    }
    await words.getByRole("button", { name: "hard iron", exact: true }).focus();
    await page.keyboard.press("Enter");
    const note = page.getByRole("dialog", { name: "hard iron" });
    await note.waitFor();
    assert.match(await note.textContent(), /turns with it/);
    assert.deepEqual(await audit(page), []);
    await note.getByRole("button", { name: "soft iron" }).click();
    await page.getByRole("dialog", { name: "soft iron" }).waitFor();
    await page.keyboard.press("Escape");
    assert.equal(await page.getByRole("dialog").count(), 0);
    assert.equal(await page.evaluate(() => document.activeElement?.textContent), "hard iron");
    assertQuiet(seen);
    await seen.close();
});

test("once asked for, words are dotted in the sentences, and a click on one tells it", async () => {
    const seen = await demo();
    const { page } = seen;
    await openWhy(page, "spikes");
    const place = await page.evaluate(() => {
        const marked = [...CSS.highlights.get("words")];
        const inSpikes = marked.find((range) =>
            range.startContainer.parentElement?.closest("#step-spikes-sentence") && `${range}` === "spikes");
        const rect = inSpikes?.getBoundingClientRect();
        return { x: rect.left + 4, y: rect.top + rect.height / 2, word: inSpikes.toString(), n: marked.length };
    });
    assert.ok(place.n > 20, `${place.n} words`);
    await page.mouse.click(place.x, place.y);
    const note = page.getByRole("dialog");
    await note.waitFor();
    assert.equal(place.word, "spikes");
    assert.equal(await note.locator(".word__term").textContent(), "spike");
    const box = await note.boundingBox();
    assert.ok(box.x >= 0 && box.x + box.width <= 1366, "inside the window");
    await page.mouse.click(5, 400);
    assert.equal(await note.count(), 0);
    await seen.close();
});

test("the list of all words opens from the foot, can be searched, and closes with Escape", async () => {
    const seen = await demo();
    const { page } = seen;
    await page.click("#words");
    const list = page.getByRole("dialog", { name: "Words" });
    await list.waitFor();
    assert.ok((await list.locator("dt:visible").count()) > 60);
    await page.keyboard.type("hampel");
    assert.match(await list.getByRole("status").textContent(), /No word/);
    await page.locator("#words-find").fill("soft");
    assert.deepEqual(await list.locator("dt:visible").allTextContents(), ["soft iron"]);
    assert.deepEqual(await audit(page), []);
    await page.keyboard.press("Escape");
    assert.equal(await list.count(), 0);
    await seen.close();
});

test("the words follow the language of the page, and English stands in for one that has none", async () => {
    const seen = await demo();
    const { page } = seen;
    await page.evaluate(() => document.documentElement.setAttribute("lang", "de"));
    await page.click("#words");
    await page.getByRole("dialog", { name: "Begriffe" }).waitFor();
    assert.ok((await page.getByText("Harteisen-Effekt").count()) > 0);
    await page.keyboard.press("Escape");
    await page.evaluate(() => document.documentElement.setAttribute("lang", "xx"));
    await page.click("#words");
    await page.getByRole("dialog", { name: "Words" }).waitFor();
    await seen.close();
});

test("in the one file the words are there as well, with no request", async () => {
    const seen = await demo(pathToFileURL(oneFile).href);
    await openWhy(seen.page, "calibrate");
    await seen.page.click("#words");
    await seen.page.getByRole("dialog", { name: "Words" }).waitFor();
    assert.deepEqual(seen.requests.filter((address) => !/^(blob|data):|lodelog\.html/.test(address)), []);
    assertQuiet(seen);
    await seen.close();
});

test("on a phone a note stays inside the window", async () => {
    const seen = await visit(browser, `${server.url}#demo`, { viewport: { width: 320, height: 640 } });
    const { page } = seen;
    await demoShown(page);
    await openWhy(page, "spikes");
    await page.locator("#step-spikes .why__words button").first().click();
    const box = await page.getByRole("dialog").boundingBox();
    assert.ok(box.x >= 0 && box.x + box.width <= 320, `${box.x} to ${box.x + box.width}`);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= 320, `${wide} px wide`);
    await seen.close();
});
