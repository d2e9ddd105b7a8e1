// The states of the page, each with the way to it; all on the real engine and invented logs.

import { mkdtemp, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { visit } from "../lib/browser.mjs";
import { downloaded, drop, dropPath } from "../lib/files.mjs";
import { demoData } from "../lib/places.mjs";
import { settled } from "../lib/read.mjs";
import { openDemo } from "../lib/real.mjs";
import { plates, procedureWhole } from "./plates.mjs";

/**
 * @typedef {object} Given
 * @property {import("playwright-core").Browser} browser
 * @property {{ url: string }} server
 * @property {string} name
 * @property {(page: import("playwright-core").Page, name: string, options?: object) => Promise<void>} shoot
 */

const top = (page) => page.evaluate(() => scrollTo(0, 0));
const toThe = (selector, block = "start") => (page) =>
    page.locator(selector).first().evaluate((one, where) => one.scrollIntoView({ block: where }), block);

/** A state of the demo: what is done to it, and how it is taken. */
const demoState = (act, options = {}) => async ({ browser, server, shoot, name }) => {
    const seen = await openDemo(browser, server, options.context);
    await act(seen.page);
    await shoot(seen.page, name, options);
    await seen.close();
};

/** A state after a file was dropped on the first view. */
const dropState = (file, selector, options = {}) => async ({ browser, server, shoot, name }) => {
    const seen = await visit(browser, server.url);
    await drop(seen.page, "main", [file]);
    await seen.page.waitForSelector(selector, { timeout: 60_000 });
    await settled(seen.page);
    await shoot(seen.page, name, options);
    await seen.close();
};

/** Half-hour rows, dates of which day and month cannot be told apart. */
const ambiguous = () => {
    const rows = Array.from({ length: 96 }, (_, k) =>
        `0${1 + Math.floor(k / 48)}/05/2026 ${String(Math.floor(k / 2) % 24).padStart(2, "0")}:${k % 2 ? "30" : "00"}:00,${17_000 + (k % 5)},${-300 - (k % 3)},${45_000 + (k % 7)}`);
    return `time,bx_nt,by_nt,bz_nt\n${rows.join("\n")}\n`;
};

const FIRST = async ({ browser, server, shoot, name }) => {
    const seen = await visit(browser, server.url);
    await shoot(seen.page, name, { bring: top });
    await seen.close();
};

/** A log half read: from then on the page hears no more of its worker. */
const READING = async ({ browser, server, shoot, name }) => {
    const prepare = (context) => context.addInitScript(() => {
        const own = Object.getOwnPropertyDescriptor(Worker.prototype, "onmessage");
        Object.defineProperty(Worker.prototype, "onmessage", {
            set(hear) { own.set.call(this, (event) => window.held !== true && hear(event)); },
        });
    });
    const seen = await visit(browser, server.url, { prepare });
    const row = (k) => `${1_777_818_000 + k},${17_000 + (k % 89)}.5,${k % 97}.25,${45_000 + (k % 83)}.75,11.5\n`;
    const path = join(await mkdtemp(join(tmpdir(), "lodelog-screens-")), "garden-long.csv");
    await writeFile(path, `time_s,bx_nt,by_nt,bz_nt,temperature_degc\n${Array.from({ length: 1_500_000 }, (_, k) => row(k)).join("")}`);
    await seen.page.setInputFiles("#picker", path);
    await seen.page.evaluate(() => new Promise((done) => {
        const look = setInterval(() => {
            if (document.getElementById("busy").hidden || document.getElementById("busy-bar").value < 0.2) return;
            window.held = true;
            clearInterval(look);
            done();
        }, 5);
    }));
    await shoot(seen.page, name);
    await seen.close();
};

/** The hand-in as a file, opened by itself. */
const FILE = async ({ browser, server, shoot, name }) => {
    const seen = await openDemo(browser, server);
    const saved = await downloaded(seen.page, () => seen.page.getByText("Save the hand-in", { exact: true }).click());
    await seen.page.goto(`file://${saved.path}`);
    await shoot(seen.page, name);
    await shoot(seen.page, `${name}-figures`, { bring: toThe("figure") });
    await shoot(seen.page, `${name}-printed`, { media: { media: "print" }, whole: true, sizes: [{ width: 680, height: 960 }] });
    await seen.close();
};

const WORK = async ({ browser, server, shoot, name }) => {
    const seen = await openDemo(browser, server);
    await seen.page.locator("#step-spikes-threshold").fill("4.5");
    await seen.page.keyboard.press("Enter");
    await settled(seen.page);
    await seen.page.waitForTimeout(2500);
    await seen.page.goto("about:blank");
    await seen.page.goto(server.url);
    await seen.page.waitForSelector("#kept:not([hidden])");
    await shoot(seen.page, name);
    await shoot(seen.page, `${name}-below`, { bring: toThe("#kept", "center") });
    await seen.close();
};

const open = (selector) => (page) => page.locator(selector).evaluateAll((all) => all.forEach((one) => { one.open = true; }));

/** Every state by its name. */
export const STATES = {
    "first-visit": FIRST,
    reading: READING,
    demo: demoState(top, { bring: top }),
    plate: plates,
    "long-procedure": async ({ browser, server, shoot, name }) => {
        const seen = await procedureWhole(browser, server);
        await shoot(seen.page, name, { bring: top });
        await shoot(seen.page, `${name}-days`, { bring: toThe("#step-k-index", "center") });
        await seen.close();
    },
    refused: dropState({ name: "report.pdf", bytes: "%PDF-1.7\n1 0 obj\n" }, ".notice"),
    "no-rows": dropState({ name: "empty.csv", bytes: "time,bx_nt,by_nt,bz_nt\n" }, ".notice"),
    "empty-result": demoState(async (page) => {
        await page.locator("#step-gate-field_limit").fill("100");
        await page.keyboard.press("Enter");
        await settled(page);
    }, { bring: toThe("#step-gate", "start") }),
    question: dropState({ name: "garden.csv", bytes: ambiguous() }, ".decision.is-asked"),
    "hand-in": demoState(open(".handin details:first-of-type"), { bring: toThe(".handin") }),
    "hand-in-file": FILE,
    share: demoState(async (page) => {
        await page.getByText("Link and QR code").click();
        await page.waitForSelector(".share__qr");
    }, { bring: toThe(".share", "start") }),
    help: demoState(async (page) => {
        await page.evaluate(() => document.activeElement?.blur());
        await page.keyboard.press("?");
        await page.waitForTimeout(300);
    }),
    "work-list": WORK,
    why: demoState(open(".step details"), { bring: toThe("#step-spikes", "start") }),
    "forced-colours": demoState(top, { media: { forcedColors: "active" }, bring: toThe("#step-spikes", "start") }),
    "reduced-motion": demoState(top, { media: { reducedMotion: "reduce" }, bring: toThe("#step-spikes", "start") }),
    print: demoState(top, { media: { media: "print" }, whole: true, sizes: [{ width: 680, height: 960 }] }),
    zoom400: demoState(top, { context: { deviceScaleFactor: 4 }, sizes: [{ width: 341, height: 192 }], bring: toThe("#step-spikes", "start") }),
    rtl: demoState((page) => page.evaluate(() => { document.documentElement.dir = "rtl"; }), { bring: toThe("#step-spikes", "start") }),
    weather: async ({ browser, server, shoot, name }) => {
        const seen = await visit(browser, server.url);
        await dropPath(seen.page, "main", join(demoData, "garden-weather.csv"));
        await seen.page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
        await settled(seen.page);
        await shoot(seen.page, name, { bring: top });
        await seen.close();
    },
};
