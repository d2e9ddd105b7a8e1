// What comes in: files, text, markup, faults; and what the policy keeps out.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { visit } from "../lib/browser.mjs";
import { drop, paste } from "../lib/files.mjs";
import { servePretended, visitDemo } from "../lib/pretend.mjs";

const { browser, server } = await begun(servePretended());

const THRESHOLD = "#step-spikes-threshold";

test("P40 a log too big for the engine, which stops, is told of, and the work goes on from where it stood", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.fill(THRESHOLD, "8");
    await page.press(THRESHOLD, "Enter");
    await page.waitForSelector("#undo:enabled");
    await drop(page, "body", [{ name: "bad.csv", bytes: "panic" }]);
    await page.waitForSelector(".notice[role=alert]");
    assert.match(await page.textContent(".notice"), /The engine stopped: unreachable/);
    await page.fill(THRESHOLD, "9");
    await page.press(THRESHOLD, "Enter");
    await page.waitForFunction(() =>
        /Did it with 9, 11/.test(document.querySelector("#step-spikes-remark").textContent),
    );
    await seen.close();
});

test("pasted text is read as a file is, and pasting into a field is left alone", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await paste(page, "body", "time,x\n2026-05-01T00:00:00Z,1\n");
    await page.waitForSelector(".step");
    assert.match(await page.textContent(".entry__name"), /pasted text/);
    await paste(page, THRESHOLD, "6");
    await page.waitForTimeout(200);
    assert.equal(await page.locator(".entry__name").count(), 1);
    await seen.close();
});

test("closing the last log leads back to the first view", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.click("[aria-label^='Close tern-skerry-turning']");
    await page.waitForFunction(() => document.querySelectorAll(".entry__name").length === 1);
    await page.click("[aria-label^='Close tern-skerry']");
    await page.waitForSelector("#landing:not([hidden])");
    await page.click("#demo");
    await page.waitForSelector(".step");
    await seen.close();
});

test("markup in a file's name appears as text", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await drop(page, "body", [{ name: "<img src=x onerror=alert(1)>.csv", bytes: "time,x\n" }]);
    await page.waitForSelector(".step");
    assert.match(await page.textContent(".entry__name"), /^<img src=x/);
    assert.equal(await page.locator(".entry img").count(), 0);
    await seen.close();
});

test("the policy blocks what comes from elsewhere: fetch, picture, inline script", async () => {
    const seen = await visit(browser, server.url);
    const blocked = await seen.page.evaluate(async () => {
        const violated = new Set();
        document.addEventListener("securitypolicyviolation", (event) =>
            violated.add(event.effectiveDirective),
        );
        const elsewhere = "http://127.0.0.2:9/";
        await fetch(elsewhere).catch(() => undefined);
        const picture = new Image();
        picture.src = `${elsewhere}a.png`;
        const script = document.createElement("script");
        script.textContent = "globalThis.ran = true";
        document.body.append(script, picture);
        await new Promise((done) => setTimeout(done, 300));
        return { violated: [...violated].sort(), ran: globalThis.ran === true };
    });
    assert.equal(blocked.ran, false);
    assert.deepEqual(blocked.violated, ["connect-src", "img-src", "script-src-elem"]);
    await seen.close();
});

test("a page that came in place of the engine is named as such", async () => {
    const faulty = await servePretended({
        "pkg/page_bg.wasm": { type: "text/html", body: "<html>Sign in</html>" },
    });
    const seen = await visit(browser, faulty.url);
    await seen.page.waitForSelector(".notice[role=alert]");
    assert.match(await seen.page.textContent(".notice"), /web page came in place of the engine/);
    await seen.close();
    await faulty.close();
});
