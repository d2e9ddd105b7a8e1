// The page with an engine that only pretends: served, opened, and with the demo on screen.

import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { visit } from "./browser.mjs";
import { root, www } from "./places.mjs";
import { serve } from "./server.mjs";

/** The smallest module of WebAssembly: its magic number and its version. */
const EMPTY_WASM = Uint8Array.of(0, 0x61, 0x73, 0x6d, 1, 0, 0, 0);

/**
 * Serves the page with the pretended engine.
 *
 * @param {Record<string, { status?: number, type?: string, body: string | Uint8Array }>} [instead]
 *     further files to replace
 */
export async function servePretended(instead = {}) {
    const engine = await readFile(join(root, "tests", "page", "fake-engine.mjs"), "utf8");
    return serve(www, {
        instead: {
            "pkg/page.js": { body: engine },
            "pkg/page_bg.wasm": { body: EMPTY_WASM },
            ...instead,
        },
    });
}

/**
 * A visit with the demo open.
 *
 * @param {import("playwright-core").Browser} browser
 * @param {string} url
 * @param {Parameters<typeof visit>[2]} [options]
 */
export async function visitDemo(browser, url, options) {
    const seen = await visit(browser, url, options);
    await seen.page.click("#demo");
    await seen.page.waitForSelector(".step");
    await seen.page.waitForFunction(() => document.querySelector(".plate__number")?.textContent);
    return seen;
}
