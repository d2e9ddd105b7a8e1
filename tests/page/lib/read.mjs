// What stands on the page, as numbers: results, remarks, slots, and the truth they are held against.

import { execFile } from "node:child_process";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { promisify } from "node:util";
import { demoData, root } from "./places.mjs";

const call = promisify(execFile);

/** The truth behind an invented log. */
export async function truth(name) {
    return JSON.parse(await readFile(join(demoData, `${name}.truth.json`), "utf8"));
}

/**
 * A printed number: `−6,197.81 ± 0.46 nT`, `15.8 ± 1.4°`.
 *
 * @param {string} text
 * @returns {{ value: number, sigma: number }} sigma is NaN where none is printed
 */
export function printed(text) {
    const plain = text.replaceAll("−", "-").replaceAll(",", "");
    const [value, sigma] = plain.split("±").map((part) => Number.parseFloat(part));
    return { value, sigma: sigma ?? Number.NaN };
}

/** The results of a step: what it is called, and what is printed. */
export function results(page, step) {
    return page.$$eval(`#step-${step} .results > div`, (rows) =>
        rows.map((row) => [
            row.querySelector("dt")?.textContent ?? "",
            row.querySelector("dd")?.textContent ?? "",
        ]),
    );
}

/** One result of a step as a number with its uncertainty. */
export async function result(page, step, label) {
    const rows = await results(page, step);
    const row = rows.find(([name]) => name === label);
    if (row === undefined) {
        throw new Error(`${step} shows no “${label}”, only ${rows.map(([name]) => name)}`);
    }
    return printed(row[1]);
}

/** The remark of a step. */
export function remark(page, step) {
    return page.locator(`#step-${step}-remark`).textContent();
}

/** Types into a slot and leaves it, and waits for what follows. */
export async function type(page, step, slot, text) {
    const control = page.locator(`#step-${step}-${slot}`);
    await control.fill(text);
    await control.press("Enter");
    await settled(page);
}

/** Chooses in a slot. */
export async function choose(page, step, slot, option) {
    await page.locator(`#step-${step}-${slot}`).selectOption(option);
    await settled(page);
}

/** Waits until what was typed has been worked out and drawn. */
export async function settled(page) {
    // Typing is sent after a short rest; only then is the plate known to be old.
    await page.waitForTimeout(400);
    await page.waitForFunction(
        () =>
            document.getElementById("busy")?.hidden !== false &&
            document.querySelector('.plate[data-stale="true"]') === null,
    );
}

/** Takes a step in hand by its plate, and waits until the plate shows. */
export async function takePlate(page, step, figure) {
    await page.locator(`#step-${step} .step__plates [data-figure="${figure}"]`).click();
    await page.waitForSelector(`#step-${step} [data-figure="${figure}"][aria-pressed="true"]`);
    await settled(page);
}

/** The plate in hand as a picture: another drawing, another text. */
export function picture(page) {
    return page.evaluate(() => document.querySelector(".plate canvas").toDataURL());
}

/** What the native replay prints for a procedure and logs; `out` is a folder for its files. */
export async function replay(procedure, logs, out) {
    const program = process.env.LODELOG_XTASK;
    const words = ["replay", procedure, ...logs, "--out", out];
    const [command, before] =
        program === undefined ? ["cargo", ["run", "--quiet", "--package", "xtask", "--"]] : [program, []];
    const { stdout } = await call(command, [...before, ...words], { cwd: root, maxBuffer: 1 << 26 });
    return JSON.parse(stdout);
}

/** The rows of a CSV file without its `#` block, as texts. */
export function rows(text) {
    return text
        .split(/\r?\n/)
        .filter((line) => line !== "" && !line.startsWith("#"))
        .map((line) => line.split(","));
}
