// Questions of the reading on the real page: the zone by the name of a place, files that are joined.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, visit } from "../lib/browser.mjs";
import { drop } from "../lib/files.mjs";

const { browser, server } = await begun();

/** Half-hour rows of one day by a clock on the wall; no zone is named. */
function log(name, day) {
    const clock = (k) => `${String(Math.floor(k / 2)).padStart(2, "0")}:${k % 2 ? "30" : "00"}`;
    const row = (_, k) => `2026-03-${day} ${clock(k)}:00,16632.${k},-1002.${k},47743.${k}\n`;
    return { name, bytes: `time,bx_nt,by_nt,bz_nt\n${Array.from({ length: 48 }, row).join("")}` };
}

const told = (page, text) =>
    page.waitForFunction(
        (wanted) => document.querySelector("#procedure").textContent.includes(wanted),
        text,
        { timeout: 15_000 },
    );

test("a zone is chosen by the name of a place, once, and brings the log to UTC", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await drop(page, "body", [log("garden-30.csv", 30)]);
    await page.waitForSelector(".decision.is-asked");
    const field = page.getByLabel(/Or type a place's time zone/);
    await field.fill("Europe/London");
    await field.press("Enter");
    await told(page, "Europe/London (UTC, from 29 March 2026 01:00 UTC +01:00)");
    await told(page, "29 March 2026 23:00");
    await drop(page, "body", [log("garden-28.csv", 28)]);
    await told(page, "garden-28.csv, the log");
    assert.equal(await page.locator(".decision.is-asked", { hasText: "UTC" }).count(), 0);
    await told(page, "garden-30.csv, joined to it");
    await told(page, "96 samples");
    assertQuiet(seen);
    await seen.close();
});

test("an offset that makes no sense is answered with what would", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await drop(page, "body", [log("garden-30.csv", 30)]);
    const field = page.getByLabel(/Or type a place's time zone/);
    await field.fill("summer time");
    await field.press("Enter");
    await page.waitForSelector(".notice");
    assert.match(await page.textContent(".notice"), /summer time.*\+01:00/s);
    await seen.close();
});

test("a file with times in common waits for the student's word before it is joined", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await drop(page, "body", [log("copy.csv", 30), log("garden.csv", 30)]);
    await told(page, "garden.csv, the log");
    await told(page, "It could be joined to garden.csv");
    await page.locator(".decision.is-asked select").first().selectOption("joined");
    await told(page, "copy.csv and garden.csv overlap");
    await told(page, "96 samples");
    await seen.close();
});
