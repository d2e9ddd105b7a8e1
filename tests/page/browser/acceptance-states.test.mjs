// What holds in every state of the page, as the photographs list them: the audit finds nothing, light
// and dark.  And the whole way by the keyboard alone, from the first view to a hand-in that is saved.

import assert from "node:assert/strict";
import { test } from "node:test";
import { audit } from "../lib/axe.mjs";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, visit } from "../lib/browser.mjs";
import { demoShown } from "../lib/demo.mjs";
import { downloaded } from "../lib/files.mjs";
import { settled } from "../lib/read.mjs";
import { STATES } from "../screens/states.mjs";

const { browser, server } = await begun();

/** One figure after the other is for looking at; the page around them is that of the other states. */
const LEFT = ["plate"];

for (const [name, state] of Object.entries(STATES).filter(([one]) => !LEFT.includes(one))) {
    test(`P10 the audit finds nothing in the state ${name}, light and dark`, async () => {
        let audited = 0;
        const shoot = async (page, part, options = {}) => {
            for (const colorScheme of /** @type {const} */ (["light", "dark"])) {
                await page.emulateMedia({ colorScheme, ...options.media });
                await options.bring?.(page);
                assert.deepEqual(await audit(page), [], `${part}, ${colorScheme}`);
                audited += 1;
            }
        };
        await state({ browser, server, shoot, name });
        assert.ok(audited >= 2, "the state was reached");
    });
}

test("by the keyboard alone: landing, demo, a number changed, and the hand-in saved", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    const holds = (selector) => page.evaluate((one) => document.activeElement?.matches(one) ?? false, selector);
    const reach = async (selector, key = "Tab", most = 400) => {
        for (let k = 0; k < most; k += 1) {
            if (await holds(selector)) return;
            await page.keyboard.press(key);
        }
        assert.fail(`${selector} was not reached`);
    };
    await reach("#demo");
    await page.keyboard.press("Enter");
    await demoShown(page);
    const said = await page.locator("#step-spikes-remark").textContent();
    await reach("#step-spikes-threshold");
    await page.keyboard.press("ArrowDown");
    await page.keyboard.press("Enter");
    await page.waitForFunction((old) => document.querySelector("#step-spikes-remark")?.textContent !== old, said);
    await settled(page);
    // What a screen reader hears: the step that was edited, its remark, and what follows.
    await page.waitForFunction(() =>
        /^Spikes: Marked .* later steps follow\.$/.test(document.querySelector("#status")?.textContent ?? ""));
    const slot = page.locator("#step-spikes-threshold");
    const told = await slot.evaluate((one) => ({
        name: one.getAttribute("aria-label") ?? one.labels?.[0]?.textContent,
        range: document.getElementById(one.getAttribute("aria-describedby").split(" ")[0]).textContent,
        sentence: document.getElementById(one.closest("[role=group]").getAttribute("aria-labelledby")).textContent,
    }));
    assert.equal(told.name, "Spike threshold");
    assert.match(told.range, /^From 2 to 50\./);
    assert.match(told.sentence, /^Mark as spikes the samples more than .* neighbours\.$/);
    await reach("a[href='#stage-hand-in']", "Shift+Tab");
    await page.keyboard.press("Enter");
    await reach(".handin .main-button");
    const saved = await downloaded(page, () => page.keyboard.press("Enter"));
    assert.match(saved.bytes.toString("utf8"), /Mark as spikes the samples more than 5\.5 robust deviations/);
    assertQuiet(seen);
    await seen.close();
});
