// Files into the page (dropped, picked, pasted) and out of it (downloaded).

import { mkdir, readFile } from "node:fs/promises";
import { basename, join } from "node:path";
import { out } from "./places.mjs";

/**
 * Drops files on an element, as from a file manager.
 *
 * @param {import("playwright-core").Page} page
 * @param {string} selector where they fall
 * @param {{ name: string, bytes: Uint8Array | string, type?: string }[]} files
 */
export async function drop(page, selector, files) {
    const parcels = files.map(({ name, bytes, type = "" }) => ({
        name,
        type,
        base64: Buffer.from(bytes).toString("base64"),
    }));
    const transfer = await page.evaluateHandle(async (list) => {
        const data = new DataTransfer();
        for (const { name, type, base64 } of list) {
            const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
            data.items.add(new File([bytes], name, { type }));
        }
        return data;
    }, parcels);
    for (const event of ["dragenter", "dragover", "drop"]) {
        await page.dispatchEvent(selector, event, { dataTransfer: transfer });
    }
    await transfer.dispose();
}

/**
 * Drops a file that is on the disk.
 *
 * @param {import("playwright-core").Page} page
 * @param {string} selector
 * @param {string} path
 */
export async function dropPath(page, selector, path) {
    await drop(page, selector, [{ name: basename(path), bytes: await readFile(path) }]);
}

/**
 * Pastes text on an element, as from a spreadsheet.
 *
 * @param {import("playwright-core").Page} page
 * @param {string} selector
 * @param {string} text
 */
export async function paste(page, selector, text) {
    await page.locator(selector).evaluate((element, pasted) => {
        const clipboardData = new DataTransfer();
        clipboardData.setData("text/plain", pasted);
        const event = new ClipboardEvent("paste", {
            clipboardData,
            bubbles: true,
            cancelable: true,
        });
        element.dispatchEvent(event);
    }, text);
}

/**
 * What an action downloads.
 *
 * @param {import("playwright-core").Page} page
 * @param {() => Promise<unknown>} action such as a click
 * @returns {Promise<{ name: string, bytes: Buffer, path: string }>} `path` is a copy in tests/out
 */
export async function downloaded(page, action) {
    const [download] = await Promise.all([page.waitForEvent("download"), action()]);
    const name = download.suggestedFilename();
    await mkdir(out, { recursive: true });
    const path = join(out, name);
    await download.saveAs(path);
    return { name, bytes: await readFile(path), path };
}
