// Several pictures on one sheet, each under its name.

import { readFile } from "node:fs/promises";
import { basename } from "node:path";

/**
 * @param {import("playwright-core").Browser} browser
 * @param {string[]} paths of the pictures
 * @param {string} path of the sheet
 */
export async function sheet(browser, paths, path) {
    const page = await browser.newPage({ viewport: { width: 1600, height: 600 } });
    const figures = await Promise.all(paths.map(async (one) => {
        const bytes = await readFile(one);
        const name = basename(one, ".png");
        return `<figure><img src="data:image/png;base64,${bytes.toString("base64")}"><figcaption>${name}</figcaption></figure>`;
    }));
    await page.setContent(`<!doctype html><style>
        body { margin: 8px; display: flex; flex-wrap: wrap; gap: 8px; align-items: start; font: 12px sans-serif }
        figure { margin: 0; border: 1px solid #888 }
        img { display: block; max-width: 780px; max-height: 620px }
        </style>${figures.join("")}`);
    await page.screenshot({ path, fullPage: true });
    await page.close();
}
