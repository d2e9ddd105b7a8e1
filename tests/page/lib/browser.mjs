// Chromium for the page's tests: started plainly, with every request and every complaint recorded.

import assert from "node:assert/strict";
import { existsSync, readFileSync } from "node:fs";
import { chromium } from "playwright-core";

/** What keeps the browser quiet: it asks nobody for anything the page did not ask for. */
const QUIET = [
    "--no-sandbox",
    "--headless",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
];

/** Where a Chromium usually stands. */
const USUAL = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];

/**
 * The browser's program: the one that `CHROMIUM` names, else the first usual one.
 *
 * @returns {string}
 */
export function program() {
    const found = process.env.CHROMIUM ?? USUAL.find((path) => existsSync(path));
    assert.ok(found, "No Chromium: install it, or let CHROMIUM name its program.");
    return found;
}

/**
 * Starts the browser.
 *
 * @param {import("playwright-core").LaunchOptions} [options]
 */
export function launch(options = {}) {
    return chromium.launch({ executablePath: program(), args: QUIET, ...options });
}

/**
 * @typedef {object} Visit
 * @property {import("playwright-core").BrowserContext} context
 * @property {import("playwright-core").Page} page
 * @property {string[]} requests every address asked for, by page and workers
 * @property {string[]} complaints console errors and warnings, failed scripts, policy violations
 * @property {() => Promise<void>} close ends the visit
 */

/**
 * Opens an address as a new visitor would: nothing stored, nothing cached.
 *
 * @param {import("playwright-core").Browser} browser
 * @param {string} address
 * @param {import("playwright-core").BrowserContextOptions & { prepare?: (context:
 *     import("playwright-core").BrowserContext) => Promise<unknown> }} [options]
 *     the context's options; `prepare` runs before the page loads
 * @returns {Promise<Visit>}
 */
export async function visit(browser, address, options = {}) {
    const { prepare, ...rest } = options;
    const context = await browser.newContext({
        viewport: { width: 1366, height: 768 },
        locale: "en-GB",
        timezoneId: "Europe/London",
        acceptDownloads: true,
        ...rest,
    });
    const page = await context.newPage();
    /** @type {string[]} */
    const requests = [];
    /** @type {string[]} */
    const complaints = [];
    context.on("request", (request) => requests.push(request.url()));
    context.on("console", (message) => {
        if (["error", "warning"].includes(message.type())) complaints.push(message.text());
    });
    context.on("weberror", (error) => complaints.push(String(error.error())));
    page.on("crash", () => complaints.push("The page crashed."));
    await prepare?.(context);
    await page.goto(address);
    return { context, page, requests, complaints, close: () => context.close() };
}

/**
 * The addresses that leave the page's own origin; `blob:` and `data:` are the page's own.
 *
 * @param {string[]} requests
 * @param {string} origin
 * @returns {string[]}
 */
export function strangers(requests, origin) {
    return requests.filter((address) => {
        const url = new URL(address);
        if (url.protocol === "data:") return false;
        return url.origin !== origin;
    });
}

/**
 * Fails when anything was asked of another origin.
 *
 * @param {Visit} seen
 * @param {string} origin
 */
export function assertSameOrigin(seen, origin) {
    assert.deepEqual(strangers(seen.requests, origin), [], "The page asked another origin.");
    assert.notEqual(seen.requests.length, 0, "No request was recorded at all.");
}

/**
 * Fails when the page complained: an error, a warning, a blocked thing.
 *
 * @param {Visit} seen
 */
export function assertQuiet(seen) {
    assert.deepEqual(seen.complaints, [], "The page complained in the console.");
}

/**
 * Slows the processor, as on a school's machine.
 *
 * @param {import("playwright-core").Page} page
 * @param {number} times 4 for four times slower
 */
export async function slow(page, times) {
    const session = await page.context().newCDPSession(page);
    await session.send("Emulation.setCPUThrottlingRate", { rate: times });
}

/**
 * The most memory that a process of this browser's pages has held so far, MB (Linux).
 *
 * @param {import("playwright-core").Browser} browser
 * @returns {Promise<number>}
 */
export async function pageMemory(browser) {
    const session = await browser.newBrowserCDPSession();
    const { processInfo } = await session.send("SystemInfo.getProcessInfo");
    const pages = processInfo.filter(({ type }) => type === "renderer").map(({ id }) => id);
    const peaks = pages.map((id) =>
        Number(/VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${id}/status`, "utf8"))?.[1]) / 1024);
    return Math.max(...peaks);
}
