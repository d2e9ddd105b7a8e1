// The page in German: chosen on the first view or with the work open, nothing left in English, the
// same numbers, and links and hand-ins that go between the languages.

import assert from "node:assert/strict";
import { test } from "node:test";
import { audit } from "../lib/axe.mjs";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, assertSameOrigin, visit } from "../lib/browser.mjs";
import { demoShown } from "../lib/demo.mjs";
import { downloaded } from "../lib/files.mjs";
import { settled } from "../lib/read.mjs";
import { photograph } from "../lib/screens.mjs";

const { browser, server } = await begun();

/** Words that no German sentence holds. */
const ENGLISH = /\b(the|and|of|with|which|from|between|samples?|field|this|is|are|than|its|your|you)\b/;

/** The texts that are shown, without names of files, the invented places and other languages. */
function shown(page) {
    return page.evaluate(() => {
        const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        const left = "script, style, noscript, [translate=no], .entry__name, option[lang], kbd, pre";
        const found = [];
        for (let node = walk.nextNode(); node !== null; node = walk.nextNode()) {
            const parent = node.parentElement;
            if (parent !== null && parent.closest(left) === null && node.data.trim() !== "") {
                found.push(node.data.trim());
            }
        }
        return found;
    });
}

/** The figure in sight follows a moment after the sentences. */
async function assertGerman(page) {
    const left = async () => (await shown(page)).filter((text) => ENGLISH.test(text));
    for (let k = 0; k < 40 && (await left()).length > 0; k += 1) await page.waitForTimeout(100);
    assert.deepEqual(await left(), []);
}

/** Chooses a language at the foot of the page, and waits until all is said in it. */
async function choose(page, language) {
    await page.selectOption("#speech select", language);
    await page.waitForFunction((lang) => document.documentElement.lang === lang, language);
    if (await page.locator("#step-spectrum").count()) {
        await page.waitForFunction(() => document.querySelector("#busy")?.hidden !== false);
        await settled(page);
    }
}

/** Values out of printed results, whatever marks their decimals. */
function numbers(page, comma) {
    const plain = (text) => text.replaceAll("\u202f", "").replaceAll(comma ? "" : ",", "").replaceAll(",", ".");
    return page.$$eval("#step-elements .results dd, #step-calibrate .results dd", (all) =>
        all.map((one) => one.textContent ?? "")).then((texts) =>
        texts.flatMap((text) => plain(text).match(/\d+(\.\d+)?/g) ?? []));
}

test("the first view offers German to whoever's browser asks for it, and all of the demo is said in it", async () => {
    const seen = await visit(browser, server.url, { locale: "de-DE" });
    const { page } = seen;
    await page.click("#offer button");
    await page.waitForFunction(() => document.documentElement.lang === "de");
    await assertGerman(page);
    assert.match(await page.locator("#demo").textContent(), /Demo/);
    await photograph(page, "german-landing");
    await page.click("#demo");
    await demoShown(page);
    await assertGerman(page);
    assert.match(await page.locator("#step-spikes-remark").textContent(), /Messwerte, davon \d+ markiert \(0,\d+ %\)/);
    assert.deepEqual(await audit(page, "main"), []);
    await photograph(page, "german-demo");
    await page.setViewportSize({ width: 320, height: 640 });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= 320, `${wide} px wide`);
    await page.reload();
    // The choice was kept.
    await page.waitForFunction(() => document.documentElement.lang === "de");
    assertQuiet(seen);
    assertSameOrigin(seen, server.origin);
    await page.context().close();
});

test("with the work open the language changes, the numbers do not, and it changes back", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await page.click("#demo");
    await demoShown(page);
    const words = () => page.locator("#procedure").innerText();
    const [before, values] = [await words(), await numbers(page, false)];
    assert.ok(values.length > 20, `${values.length} numbers`);
    await choose(page, "de");
    assert.deepEqual(await numbers(page, true), values);
    await assertGerman(page);
    await choose(page, "en");
    assert.equal(await words(), before);
    await page.selectOption("#speech label:nth-child(3) select", "iso");
    await page.waitForFunction(() =>
        /2026-05-21 20:45:30/.test(document.querySelector("#step-spikes-remark")?.textContent ?? ""));
    await page.reload();
    assert.equal(await page.locator("#speech label:nth-child(3) select").inputValue(), "iso", "kept and shown");
    assertQuiet(seen);
    await page.context().close();
});

test("a link made in English opens in German to the same numbers, and a hand-in is written in German", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await page.click("#demo");
    await demoShown(page);
    const values = await numbers(page, false);
    await page.locator("details.share summary").click();
    const link = await page.waitForFunction(() => document.querySelector(".share__link")?.textContent || false);
    await choose(page, "de");
    await page.goto(await link.jsonValue());
    await page.reload();
    await demoShown(page);
    await page.waitForFunction(() => document.documentElement.lang === "de");
    assert.deepEqual(await numbers(page, true), values);
    const saved = await downloaded(page, () => page.getByRole("button", { name: "Abgabe speichern" }).click());
    const html = saved.bytes.toString("utf8");
    assert.match(html, /<html lang="de">/);
    assert.match(html, /<h2>Methoden<\/h2>/);
    assertQuiet(seen);
    await page.context().close();
});

test("a language whose words do not come is told of, and the page goes on in the one it spoke", async () => {
    let away = true;
    const prepare = (context) => context.route("**/words/de.json", (route) => away ? route.abort() : route.continue());
    const seen = await visit(browser, server.url, { prepare });
    const { page } = seen;
    const notice = page.locator(".notice");
    await page.selectOption("#speech select", "de");
    await notice.waitFor();
    assert.match(await notice.textContent(), /words of this language could not be fetched/);
    assert.equal(await page.locator("#speech select").first().inputValue(), "en");
    assert.equal(await page.locator("#speech select").nth(1).inputValue(), "point");
    assert.equal(await page.evaluate(() => document.documentElement.lang), "en");
    await page.click("#demo");
    await demoShown(page);
    const plain = await page.locator("#step-spikes-remark").textContent();
    assert.match(plain, /^Marked /);
    await page.selectOption("#speech select", "de");
    await page.waitForTimeout(500);
    assert.equal(await notice.count(), 1);
    assert.equal(await page.locator("#step-spikes-remark").textContent(), plain);
    away = false;
    await choose(page, "de");
    await assertGerman(page);
    assert.equal(await notice.count(), 0, "what no longer holds is not told");
    // Chosen before, and away today: in English, and told of.
    away = true;
    await page.reload();
    await notice.waitFor();
    assert.match(await notice.textContent(), /words of this language could not be fetched/);
    assert.equal(await page.evaluate(() => document.documentElement.lang), "en");
    await page.context().close();
});
