// What the page lays out, at every size it is made for, and how the keyboard and a reader get about.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { assertAccessible } from "../lib/axe.mjs";
import { assertQuiet, assertSameOrigin, launch, visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { servePretended, visitDemo } from "../lib/pretend.mjs";
import { settled, sidewaysScroll } from "../lib/screens.mjs";

let browser;
let server;

before(async () => {
    server = await servePretended();
    browser = await launch();
});
after(async () => {
    await browser.close();
    await server.close();
});

const LAPTOP = { viewport: { width: 1366, height: 600 } };
const SMALL = { viewport: { width: 1093, height: 480 } };
const PHONE = { viewport: { width: 390, height: 844 } };
const NARROW = { viewport: { width: 320, height: 640 } };
const THRESHOLD = "#step-spikes-threshold";

/** Whether an element stands within the window, whole. */
const isInView = (page, selector) =>
    page.locator(selector).first().evaluate((element) => {
        const box = element.getBoundingClientRect();
        return box.width > 0 && box.top >= 0 && box.bottom <= window.innerHeight && box.right <= window.innerWidth;
    });

test("the first view shows purpose, drop area and demo without scrolling or a dialog", async () => {
    const seen = await visit(browser, server.url, LAPTOP);
    for (const selector of [".landing__purpose", "#drop", "#demo", ".landing__promise"]) {
        assert.ok(await isInView(seen.page, selector), selector);
    }
    assert.equal(await seen.page.locator("dialog, [role=dialog]").count(), 0);
    await seen.close();
});

test("the address with #demo opens the demo", async () => {
    const seen = await visit(browser, `${server.url}#demo`);
    await seen.page.waitForSelector(".step");
    assertSameOrigin(seen, server.origin);
    assertQuiet(seen);
    await seen.close();
});

for (const size of [LAPTOP, SMALL]) {
    const { width, height } = size.viewport;
    test(`slot, remark and figure are in sight together at ${width} by ${height}`, async () => {
        const seen = await visitDemo(browser, server.url, size);
        await seen.page.focus(THRESHOLD);
        await settled(seen.page);
        for (const selector of [THRESHOLD, "#step-spikes-remark", ".plate__canvas"]) {
            assert.ok(await isInView(seen.page, selector), selector);
        }
        await seen.close();
    });
}

test("from landing to a saved figure takes 25 key presses or fewer", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    let presses = 0;
    const press = async (key) => {
        presses += 1;
        await page.keyboard.press(key);
    };
    const named = () => page.evaluate(() => document.activeElement?.ariaLabel ?? "");
    const tabTo = async (wanted) => {
        for (let tries = 0; tries < 25; tries += 1) {
            await press("Tab");
            if (await page.evaluate((selector) => document.activeElement?.matches(selector), wanted)) {
                return;
            }
        }
        assert.fail(`${wanted} is not reached; the focus is on ${await named()}`);
    };
    await tabTo("#demo");
    await press("Enter");
    await page.waitForSelector(".step");
    await page.waitForFunction(() => document.querySelector(".plate__number")?.textContent);
    await tabTo("a[href='#plates']");
    await press("Enter");
    await tabTo("[aria-label='Save the figure as SVG']");
    const { name } = await downloaded(page, () => press("Enter"));
    assert.match(name, /^[a-z0-9.-]{1,60}\.svg$/);
    assert.ok(presses <= 25, `${presses} presses`);
    await seen.close();
});

test("every control is reached by Tab, with a ring that is seen and not covered", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    // Past the last control the focus leaves the page once and comes in again at the top.
    let leaves = 0;
    const visited = new Set();
    for (let presses = 0; presses < 200; presses += 1) {
        await page.keyboard.press("Tab");
        const found = await page.evaluate(() => {
            const element = document.activeElement;
            if (!element || element === document.body) return null;
            element.dataset.order ??= String(document.querySelectorAll("[data-order]").length);
            const holder = element.closest(".slot") ?? element;
            const { outlineWidth, outlineStyle } = getComputedStyle(holder);
            const box = element.getBoundingClientRect();
            const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
            return {
                order: element.dataset.order,
                ring: outlineStyle !== "none" && parseFloat(outlineWidth) >= 2,
                covered: !(top && (element.contains(top) || top.contains(element) || holder.contains(top))),
                name: element.outerHTML.slice(0, 90),
            };
        });
        if (found === null) leaves += 1;
        if (leaves > 1) break;
        if (found === null || visited.has(found.order)) continue;
        visited.add(found.order);
        assert.ok(found.ring, `no ring: ${found.name}`);
        assert.ok(!found.covered, `covered: ${found.name}`);
    }
    const missed = await page.evaluate(() => {
        const all = [...document.querySelectorAll("a[href], button, input, select, summary, textarea")];
        return all
            .filter((one) => one.checkVisibility() && !one.disabled && one.tabIndex >= 0)
            .filter((one) => one.dataset.order === undefined)
            .map((one) => one.outerHTML.slice(0, 90));
    });
    assert.deepEqual(missed, []);
    assert.ok(visited.size > 40, `${visited.size} reached`);
    await seen.close();
});

for (const colorScheme of ["light", "dark"]) {
    test(`landing, demo, error and phone pass the audit in ${colorScheme} colours`, async () => {
        const seen = await visit(browser, server.url, { colorScheme });
        const { page } = seen;
        await assertAccessible(page, "landing");
        await page.click("#demo");
        await page.waitForFunction(() => document.querySelector(".plate__number")?.textContent);
        await assertAccessible(page, "demo");
        await page.fill(THRESHOLD, "900");
        await page.waitForSelector(`${THRESHOLD}[aria-invalid=true]`);
        await drop(page, "body", [{ name: "empty.csv", bytes: "" }]);
        await page.waitForSelector(".notice");
        await page.locator("details").evaluateAll((all) => all.forEach((one) => (one.open = true)));
        await settled(page);
        await assertAccessible(page, "error, all open");
        await page.setViewportSize(PHONE.viewport);
        await settled(page);
        await assertAccessible(page, "phone");
        await seen.close();
    });
}

test("every pointer target is at least 24 pixels high and wide", async () => {
    for (const size of [LAPTOP, PHONE]) {
        const seen = await visitDemo(browser, server.url, size);
        const small = await seen.page.evaluate(() => {
            const all = [...document.querySelectorAll("a[href], button, input, select, summary")];
            return all
                .filter((one) => one.checkVisibility() && !one.matches(".skip, .unseen"))
                .map((one) => ({ box: (one.closest("label") ?? one).getBoundingClientRect(), one }))
                .filter(({ box }) => box.width < 24 || box.height < 24)
                .map(({ box, one }) => `${one.outerHTML.slice(0, 80)} ${box.width}x${box.height}`);
        });
        assert.deepEqual(small, []);
        await seen.close();
    }
});

test("at 320 pixels nothing scrolls sideways and every step can be worked", async () => {
    const seen = await visitDemo(browser, server.url, NARROW);
    const { page } = seen;
    assert.equal(await sidewaysScroll(page), 0);
    const wide = await page.$$eval(".slot, button, select", (all) =>
        all.filter((one) => one.getBoundingClientRect().right > window.innerWidth + 0.5).length,
    );
    assert.equal(wide, 0);
    await page.focus("#step-spectrum-segment");
    await settled(page);
    assert.equal(await page.locator("#step-spectrum .plate").count(), 1);
    assert.equal(await sidewaysScroll(page), 0);
    await seen.close();
});

test("with wide text spacing and doubled text nothing is cut off", async () => {
    const seen = await visitDemo(browser, server.url, PHONE);
    const { page } = seen;
    await page.evaluate(() => {
        const sheet = new window.CSSStyleSheet();
        sheet.replaceSync(`html { font-size: 200% } * { line-height: 1.5 !important;
            letter-spacing: 0.12em !important; word-spacing: 0.16em !important }`);
        document.adoptedStyleSheets = [sheet];
    });
    await settled(page);
    assert.equal(await sidewaysScroll(page), 0);
    const cut = await page.$$eval(".slot__control", (all) =>
        all
            .filter((one) => one instanceof HTMLInputElement && one.scrollWidth > one.clientWidth + 1)
            .map((one) => one.id),
    );
    assert.deepEqual(cut, []);
    await seen.close();
});
