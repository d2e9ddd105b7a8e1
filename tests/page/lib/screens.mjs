// Pictures of the page at the sizes it is designed for, into tests/out.

import { mkdir } from "node:fs/promises";
import { join } from "node:path";
import { out } from "./places.mjs";

/** A classroom laptop, the same at 125 % zoom, a phone. */
export const SIZES = [
    { width: 1366, height: 768 },
    { width: 1093, height: 480 },
    { width: 390, height: 844 },
];

/**
 * Photographs the page at each size, light and dark.
 *
 * @param {import("playwright-core").Page} page
 * @param {string} name what the page shows, a word or two with hyphens
 * @param {{ whole?: boolean }} [options] `whole`: the full height of the page, not the window
 * @returns {Promise<string[]>} the files written
 */
export async function photograph(page, name, options = {}) {
    await mkdir(out, { recursive: true });
    const before = page.viewportSize();
    const files = [];
    for (const colorScheme of /** @type {const} */ (["light", "dark"])) {
        await page.emulateMedia({ colorScheme });
        for (const size of SIZES) {
            await page.setViewportSize(size);
            await settled(page);
            const path = join(out, `${name}-${size.width}x${size.height}-${colorScheme}.png`);
            await page.screenshot({ path, fullPage: options.whole ?? false });
            files.push(path);
        }
    }
    await page.emulateMedia({ colorScheme: null });
    if (before) await page.setViewportSize(before);
    return files;
}

/** Waits until the page has drawn twice since the last change. */
export async function settled(page) {
    await page.evaluate(
        () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))),
    );
}

/**
 * How far the page can be scrolled sideways, in pixels; 0 on a page that fits.
 *
 * @param {import("playwright-core").Page} page
 * @returns {Promise<number>}
 */
export function sidewaysScroll(page) {
    return page.evaluate(() => {
        const top = document.documentElement;
        return Math.max(0, top.scrollWidth - top.clientWidth);
    });
}
