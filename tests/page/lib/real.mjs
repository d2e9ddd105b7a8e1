// The page on the real engine: served, with the demo open and all of its steps run.

import { visit } from "./browser.mjs";
import { settled } from "./read.mjs";

/** Waits until the demo's last steps have run and its plate is drawn. */
export async function demoRun(page) {
    await page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(page);
}

/**
 * A visit with the demo open.
 *
 * @param {import("playwright-core").Browser} browser
 * @param {{ url: string }} server
 * @param {Parameters<typeof visit>[2]} [options]
 */
export async function openDemo(browser, server, options) {
    const seen = await visit(browser, `${server.url}#demo`, options);
    await demoRun(seen.page);
    return seen;
}

/**
 * How much slower than this machine alone a check may run before it fails: a
 * bar in seconds is for a machine at rest, and other work may share this one.
 */
export const BUSY = 3;

/**
 * The middle of some times.
 *
 * @param {number[]} times
 */
export function median(times) {
    const sorted = [...times].sort((a, b) => a - b);
    return sorted[Math.floor(sorted.length / 2)] ?? Number.NaN;
}

/** Opens everything on the page that can be opened. */
export async function openAll(page) {
    await page.locator("main details").evaluateAll((all) => all.forEach((one) => { one.open = true; }));
    await settled(page);
}
