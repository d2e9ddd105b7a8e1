// The page in one file: from a stick, and inside another page that trusts it with nothing.

import assert from "node:assert/strict";
import { readFile, stat } from "node:fs/promises";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import { assertQuiet, launch, visit } from "../lib/browser.mjs";
import { demoShown, edit, journey } from "../lib/demo.mjs";
import { dropPath } from "../lib/files.mjs";
import { demoData, dist, oneFile } from "../lib/places.mjs";
import { settled } from "../lib/read.mjs";
import { serve } from "../lib/server.mjs";

let browser;

before(async () => {
    browser = await launch();
});
after(() => browser.close());

/** What was asked beyond the file itself; `blob:` and `data:` are made by the page. */
const beyond = (requests) =>
    requests.filter((address) => !/^(blob|data):/.test(address) && !address.endsWith("/lodelog.html"));

test("P33 from a stick: demo, edit, SVG, PNG, procedure and data, with no request", async () => {
    const { size } = await stat(oneFile);
    assert.ok(size <= 1_600_000, `${size} bytes`);
    const seen = await visit(browser, pathToFileURL(oneFile).href);
    await journey(seen.page);
    assert.deepEqual(beyond(seen.requests), []);
    assertQuiet(seen);
    await seen.close();
});

test("P33 from a stick: an own log, with no request", async () => {
    const seen = await visit(browser, pathToFileURL(oneFile).href);
    await dropPath(seen.page, "main", join(demoData, "tern-skerry-10-days.csv"));
    await seen.page.waitForSelector("#step-read .step__remark", { timeout: 60_000 });
    await settled(seen.page);
    assert.match(await seen.page.locator("#step-read-remark").textContent(), /27,984 samples/);
    assert.deepEqual(beyond(seen.requests), []);
    assertQuiet(seen);
    await seen.close();
});

/** A page that shows ours in a frame that may run scripts and save files, and nothing else. */
async function framed() {
    const body = '<!doctype html><title>Course</title><iframe src="../lodelog.html" ' +
        'sandbox="allow-scripts allow-downloads" width="1300" height="700"></iframe>';
    return serve(join(dist, ".."), {
        instead: { "course/index.html": { type: "text/html", body } },
    });
}

test("P32 in a frame without storage: demo, edit and exports work, one notice, and its own tab has the same procedure", async () => {
    const server = await framed();
    const seen = await visit(browser, `${server.url}course/index.html`);
    const frame = seen.page.frames().find((one) => one.url().endsWith("/lodelog.html"));
    await frame.waitForSelector("html[data-started]");
    const throws = await frame.evaluate(() => {
        try {
            return window.localStorage === null;
        } catch {
            return true;
        }
    });
    assert.ok(throws, "storage was meant to be out of reach");
    await journey(seen.page, frame);
    // What is kept is written once edits rest; here the store refuses, which is said once.
    await frame.locator("#notices .notice").first().waitFor({ timeout: 15_000 });
    await edit(frame);
    await seen.page.waitForTimeout(1500);
    assert.equal(await frame.locator("#notices .notice").count(), 1);
    assert.deepEqual(seen.requests.filter((address) => !/^(blob|data):/.test(address)).length, 2);

    const own = frame.getByRole("link", { name: "Open in its own tab" });
    await frame.waitForFunction(() => /#\d/.test(document.querySelector(".bar__own").href));
    const tab = await seen.context.newPage();
    await tab.goto(await own.getAttribute("href"));
    await demoShown(tab);
    const methods = (place) => place.locator(".handin__methods").textContent();
    assert.equal(await methods(tab), await methods(frame));
    assert.equal(await tab.getByRole("link", { name: "Open in its own tab" }).count(), 0);
    await seen.close();
    await server.close();
});

test("the one file is the page and its parts, and no more", async () => {
    const text = await readFile(oneFile, "utf8");
    const scripts = [...text.matchAll(/<script\b([^>]*)>/g)].map(([, given]) => given);
    assert.equal(scripts.filter((given) => given === "").length, 3, "watchdog, page, what is asked for later");
    const texts = scripts.flatMap((given) => /^ type="text\/plain" id="([^"]*)"$/.exec(given)?.[1] ?? []);
    assert.equal(texts.length, scripts.length - 3);
    const inside = texts.filter((id) => !/^(pictures|words)\//.test(id));
    assert.deepEqual(inside.sort(), ["engine-code", "engine-worker"]);
    assert.doesNotMatch(text, /<(script|img|link)[^>]*\b(src|href)="(?!data:)/);
    assert.match(text, /default-src 'none'/);
    assert.doesNotMatch(text, /unsafe-inline|'unsafe-eval'/);
});
