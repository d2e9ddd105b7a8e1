// The states of the real page: logs that cannot be, the audit, the keyboard alone, three sizes, two colours.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { assertAccessible } from "../lib/axe.mjs";
import { assertQuiet, assertSameOrigin, launch, visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { www } from "../lib/places.mjs";
import { picture, settled } from "../lib/read.mjs";
import { photograph, SIZES, sidewaysScroll } from "../lib/screens.mjs";
import { serve } from "../lib/server.mjs";

let browser;
let server;

before(async () => {
    server = await serve(www);
    browser = await launch();
});
after(async () => {
    await browser.close();
    await server.close();
});

async function demo(options) {
    const seen = await visit(browser, `${server.url}#demo`, options);
    await seen.page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(seen.page);
    return seen;
}

const identical = () => `time,x,y,z\n${"2026-05-01T00:00:00Z,1,2,3\n".repeat(1_000_000)}`;

/** A log that cannot be, and what must be said of it: what, and what to do. */
const IMPOSSIBLE = [
    { name: "empty.csv", bytes: "", says: /empty|0 bytes/i },
    {
        name: "picture.csv",
        bytes: Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0, 13, 1, 2, 3),
        says: /picture|image|PNG/i,
    },
    { name: "noise.bin", bytes: noise(4096), says: /text|binary/i },
    { name: "words.csv", bytes: "note\nhello\nthere\nagain\nand on\n", says: /number|column/i },
    {
        name: "nan.csv",
        bytes: `time,x,y,z\n${Array.from({ length: 50 }, (_, k) => `2026-05-01T00:00:${String(k).padStart(2, "0")}Z,NaN,NaN,NaN\n`).join("")}`,
        says: /number|value|missing/i,
    },
    { name: "login.csv", bytes: "<!doctype html><html><body>Sign in</body></html>", says: /page|HTML/i },
];

function noise(length) {
    let state = 12345;
    return Uint8Array.from({ length }, () => {
        state = (Math.imul(state, 1103515245) + 12345) >>> 0;
        return state >>> 24;
    });
}

for (const { name, bytes, says } of IMPOSSIBLE) {
    test(`${name} is answered with what and what to do, and the page goes on`, async () => {
        const seen = await visit(browser, server.url);
        const { page } = seen;
        await drop(page, "main", [{ name, bytes }]);
        const notice = page.locator("#notices .notice");
        await notice.first().waitFor({ timeout: 20_000 });
        const text = await notice.first().textContent();
        assert.match(text, says);
        assert.ok(text.length > 60, `too short to help: ${text}`);
        assert.doesNotMatch(text, /invalid|undefined|null|panicked|unreachable/i);
        await page.click("#demo");
        await page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
        assertSameOrigin(seen, server.origin);
        await seen.close();
    });
}

test("a million identical rows open, with a warning, and the page goes on", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await drop(page, "main", [{ name: "same.csv", bytes: identical() }]);
    await page.waitForSelector("#step-read .step__remark", { timeout: 60_000 });
    await settled(page);
    const text = await page.locator("main").textContent();
    assert.match(text, /unplugged|never changes|same value|stuck|repeat/i);
    await seen.close();
});

test("one column of numbers opens without times and says so", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    const bytes = Array.from({ length: 300 }, (_, k) => `${(k * 7) % 13}.${k % 10}\n`).join("");
    await drop(page, "main", [{ name: "one.csv", bytes }]);
    await page.waitForFunction(
        () =>
            document.querySelector("#step-read .step__remark")?.textContent ||
            document.querySelector("#notices .notice"),
        undefined,
        { timeout: 20_000 },
    );
    const text = await page.locator("body").textContent();
    assert.match(text, /no times?|without times?|one column/i);
    await seen.close();
});

test("an earlier log stays when the next one cannot be read", async () => {
    const seen = await demo();
    const before = await seen.page.locator("#step-elements-remark").textContent();
    await drop(seen.page, "main", [{ name: "empty.csv", bytes: "" }]);
    await seen.page.locator("#notices .notice").first().waitFor();
    assert.equal(await seen.page.locator("#step-elements-remark").textContent(), before);
    await seen.close();
});

for (const colorScheme of /** @type {const} */ (["light", "dark"])) {
    test(`the audit finds nothing on landing, demo and refusal, ${colorScheme}`, async () => {
        const seen = await visit(browser, server.url, { colorScheme });
        await assertAccessible(seen.page, "landing");
        await drop(seen.page, "main", [{ name: "empty.csv", bytes: "" }]);
        await seen.page.locator("#notices .notice").first().waitFor();
        await assertAccessible(seen.page, "refusal");
        await seen.page.click("#demo");
        await seen.page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
        await settled(seen.page);
        for (const details of await seen.page.locator("main details").all()) {
            await details.evaluate((element) => { element.open = true; });
        }
        await assertAccessible(seen.page, "demo, all opened");
        await seen.page.setViewportSize({ width: 390, height: 844 });
        await settled(seen.page);
        await assertAccessible(seen.page, "demo on a phone");
        assertQuiet(seen);
        await seen.close();
    });
}

test("with the keyboard alone one comes from landing to a saved figure", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    let presses = 0;
    const press = async (key) => {
        presses += 1;
        await page.keyboard.press(key);
    };
    const reach = async (matches, most) => {
        for (let k = 0; k < most; k += 1) {
            if (await page.evaluate(matches)) return;
            await press("Tab");
        }
        assert.ok(await page.evaluate(matches), `not reached in ${most} presses`);
    };
    await reach(() => document.activeElement?.id === "demo", 8);
    await press("Enter");
    await page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(page);
    await page.evaluate(() => {
        if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
    });
    await reach(() => document.activeElement?.textContent === "To the figure", 4);
    await press("Enter");
    const saved = await downloaded(page, async () => {
        await reach(
            () => document.activeElement?.getAttribute("aria-label") === "Save the figure as SVG", 14);
        await press("Enter");
    });
    assert.match(saved.name, /\.svg$/);
    assert.ok(presses <= 25, `${presses} key presses`);
    await seen.close();
});

test("landing, demo and every step's plate fit at each size, light and dark", async () => {
    const seen = await visit(browser, server.url);
    await photograph(seen.page, "landing");
    await seen.page.click("#demo");
    await seen.page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(seen.page);
    await photograph(seen.page, "demo");
    for (const size of [...SIZES, { width: 320, height: 640 }]) {
        await seen.page.setViewportSize(size);
        await settled(seen.page);
        assert.equal(await sidewaysScroll(seen.page), 0, `${size.width} px scrolls sideways`);
        const plates = await seen.page.locator(".step__plates button").all();
        for (const plate of plates) {
            await plate.click();
            await settled(seen.page);
            // An empty canvas of this size packs into far less.
            assert.ok((await picture(seen.page)).length > 6000, `an empty plate at ${size.width}`);
        }
    }
    assertQuiet(seen);
    await seen.close();
});
