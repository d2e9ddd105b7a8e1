// The pictures of the README, taken from the real page; LODELOG_BLESS=1 keeps them in tests/pictures.

import assert from "node:assert/strict";
import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { visit } from "../lib/browser.mjs";
import { dropPath } from "../lib/files.mjs";
import { demoData, out, root } from "../lib/places.mjs";
import { settled, takePlate } from "../lib/read.mjs";

const { browser, server } = await begun();

const folder = process.env.LODELOG_BLESS ? join(root, "tests", "pictures") : out;

/** What a picture of the README may weigh, bytes. */
const MOST = 120_000;

const PLATES = [
    { name: "spikes", step: "spikes", figure: "series" },
    { name: "calibration", step: "calibrate", figure: "calibration" },
    { name: "spectrum", step: "spectrum", figure: "spectrum" },
];

/** Beside an observatory's record. */
const COMPARED = [
    { name: "storm", step: "storms", figure: "storm-1" },
    { name: "sight", step: "k-index", figure: "sight" },
];

/** A picture as WebP, by a page that does nothing else. */
async function packed(png) {
    const page = await browser.newPage();
    const address = await page.evaluate(async (base64) => {
        const image = new Image();
        image.src = `data:image/png;base64,${base64}`;
        await image.decode();
        const canvas = document.createElement("canvas");
        canvas.width = image.naturalWidth;
        canvas.height = image.naturalHeight;
        canvas.getContext("2d").drawImage(image, 0, 0);
        return canvas.toDataURL("image/webp", 0.7);
    }, png.toString("base64"));
    await page.close();
    return Buffer.from(address.slice(address.indexOf(",") + 1), "base64");
}

test("the pictures of the README can be taken from the page as it is", async () => {
    await mkdir(folder, { recursive: true });
    const seen = await visit(browser, server.url);
    const { page } = seen;
    const take = async (name) => {
        const bytes = await packed(await page.screenshot());
        assert.ok(bytes.length > 8_000, `${name} is nearly blank: ${bytes.length} bytes`);
        assert.ok(bytes.length <= MOST, `${name} weighs ${bytes.length} bytes`);
        await writeFile(join(folder, `${name}.webp`), bytes);
    };
    const plates = async (wanted) => {
        for (const { name, step, figure } of wanted) {
            await takePlate(page, step, figure);
            await page.locator(`#step-${step}`).evaluate((element) => element.scrollIntoView({ block: "start" }));
            await page.locator("#plates").evaluate((element) => element.scrollTo(0, 0));
            await settled(page);
            await take(name);
        }
    };
    await take("landing");
    await page.click("#demo");
    await page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(page);
    await take("demo");
    await plates(PLATES);
    await page.emulateMedia({ colorScheme: "dark" });
    await page.setViewportSize({ width: 390, height: 844 });
    await page.locator("#step-calibrate").evaluate((element) => element.scrollIntoView({ block: "start" }));
    await settled(page);
    await take("phone-dark");

    await page.emulateMedia({ colorScheme: "light" });
    await takePlate(page, "calibrate", "calibration");
    await page.locator(".plate").evaluate((element) => element.scrollIntoView({ block: "center" }));
    await settled(page);
    await take("phone");

    await page.setViewportSize({ width: 1366, height: 768 });
    await dropPath(page, "main", join(demoData, "kelda-head-reference-10-days.min"));
    await page.waitForSelector("#step-compare .results dd", { timeout: 60_000 });
    await settled(page);
    await plates(COMPARED);

    await page.emulateMedia({ colorScheme: "dark" });
    await page.selectOption("#add-step", "spectrogram");
    await page.getByRole("button", { name: "Put it in" }).click();
    await page.waitForSelector("#step-spectrogram .step__plates button", { timeout: 60_000 });
    await settled(page);
    await plates([{ name: "spectrogram", step: "spectrogram", figure: "spectrogram" }]);
    await seen.close();
});
