// The plates of every step, those that the proposed procedure lacks put in one after another.

import { join } from "node:path";
import { dropPath } from "../lib/files.mjs";
import { demoData } from "../lib/places.mjs";
import { settled } from "../lib/read.mjs";
import { openDemo } from "../lib/real.mjs";

/** The demo with an observatory's record beside it. */
async function withReference(browser, server) {
    const seen = await openDemo(browser, server);
    await dropPath(seen.page, "main", join(demoData, "kelda-head-reference-10-days.min"));
    await seen.page.waitForSelector("#step-compare .results dd", { timeout: 60_000 });
    await settled(seen.page);
    return seen;
}

const idle = (page) => page.waitForFunction(
    () => document.getElementById("busy").hidden && document.querySelector('.plate[data-stale="true"]') === null,
    null, { timeout: 60_000 });

/** The steps that stand, by their ids, and those that can be put in. */
const standing = (page) => page.$$eval(".step", (all) => all.map((one) => one.id.replace(/^step-/, "")));
const lacking = async (page) => {
    const there = await standing(page);
    const all = await page.$$eval("#add-step option", (options) => options.map((one) => one.value));
    return all.filter((id) => !there.includes(id));
};

async function putIn(page, id) {
    await page.selectOption("#add-step", id);
    await page.getByRole("button", { name: "Put it in" }).click();
    await page.waitForSelector(`#step-${id}`, { timeout: 30_000 });
    await settled(page);
    await idle(page);
}

/** The demo with every step that there is. */
export async function procedureWhole(browser, server) {
    const seen = await withReference(browser, server);
    for (const id of await lacking(seen.page)) await putIn(seen.page, id);
    return seen;
}

/** Every plate of a step. */
async function platesOf(page, id, shoot) {
    const names = await page.$$eval(`#step-${id} .step__plates [data-figure]`, (all) => all.map((one) => one.dataset.figure));
    if (names.length === 0) console.log(`  ${id} has no plate: ${await page.locator(`#step-${id}`).textContent()}`.slice(0, 300));
    for (const figure of names) {
        await page.locator(`#step-${id} .step__plates [data-figure="${figure}"]`).evaluate((one) => one.click());
        await settled(page);
        await shoot(page, `plate-${id}-${figure}`, {
            bring: async (all) => {
                await all.locator(".plate").evaluate((one) => one.scrollIntoView({ block: "center" }));
                await idle(all);
            },
        });
    }
}

/** @param {import("./states.mjs").Given} given */
export async function plates({ browser, server, shoot }) {
    const seen = await withReference(browser, server);
    const { page } = seen;
    for (const id of await standing(page)) await platesOf(page, id, shoot);
    for (const id of await lacking(page)) {
        await putIn(page, id);
        await platesOf(page, id, shoot);
        await page.locator("#undo").click();
        await page.waitForSelector(`#step-${id}`, { state: "detached", timeout: 30_000 });
        await settled(page);
    }
    await seen.close();
}
