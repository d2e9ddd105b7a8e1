// The page in a browser, with an engine that only pretends: what it lays out, how it is used from
// the keyboard, what it says, and what it never does.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { assertAccessible } from "../lib/axe.mjs";
import { assertQuiet, assertSameOrigin, launch, visit } from "../lib/browser.mjs";
import { downloaded, drop, paste } from "../lib/files.mjs";
import { readPng } from "../lib/png.mjs";
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
        return box.width > 0 && box.top >= 0 && box.bottom <= innerHeight && box.right <= innerWidth;
    });

const value = (page, selector) => page.locator(selector).inputValue();

/** The texts that the status region says, from now on. */
async function listen(page) {
    await page.evaluate(() => {
        globalThis.said = [];
        const region = document.getElementById("status");
        new MutationObserver(() => globalThis.said.push(region.textContent)).observe(region, {
            childList: true,
            characterData: true,
            subtree: true,
        });
    });
    return () => page.evaluate(() => globalThis.said);
}

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

test("every slot has its own name within its step, and says what is allowed", async () => {
    const seen = await visitDemo(browser, server.url);
    const slots = await seen.page.$$eval(".step", (steps) =>
        steps.map((step) =>
            [...step.querySelectorAll(".slot__control")].map((control) => ({
                name: control.ariaLabel,
                told: control
                    .getAttribute("aria-describedby")
                    .split(" ")
                    .map((id) => document.getElementById(id)?.textContent ?? "")
                    .join(""),
            })),
        ),
    );
    for (const held of slots) {
        const names = held.map(({ name }) => name);
        assert.equal(new Set(names).size, names.length);
        held.forEach(({ name, told }) => {
            assert.ok(name.split(" ").length <= 4 && name !== "", name);
            assert.notEqual(told, "", name);
        });
    }
    assert.ok(slots.flat().length >= 6);
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
        all.filter((one) => one.getBoundingClientRect().right > innerWidth + 0.5).length,
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
        const sheet = new CSSStyleSheet();
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

test("ten quick edits are told in two texts at most, soon after the last", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.waitForTimeout(1200);
    const said = await listen(page);
    await page.focus(THRESHOLD);
    for (let edits = 0; edits < 10; edits += 1) {
        await page.keyboard.press("ArrowUp");
    }
    await page.waitForTimeout(1500);
    const texts = await said();
    assert.ok(texts.length >= 1 && texts.length <= 2, JSON.stringify(texts));
    assert.match(texts.at(-1), /Did it with 15, 11\..*later steps/);
    assert.equal(await page.locator("[role=status]").count(), 1);
    await seen.close();
});

test("a number out of range is refused in words, and Escape restores the one before", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    const remark = () => page.textContent("#step-spikes-remark");
    const good = await remark();
    await page.fill(THRESHOLD, "900");
    await page.waitForSelector(`${THRESHOLD}[aria-invalid=true]`);
    assert.match(await page.textContent(`${THRESHOLD}-refusal`), /From 1 to 50/);
    assert.equal(await remark(), good);
    await page.press(THRESHOLD, "Escape");
    await page.waitForSelector(`${THRESHOLD}:not([aria-invalid])`);
    assert.equal(await value(page, THRESHOLD), "5");
    assert.equal(await page.locator(`${THRESHOLD}-refusal`).count(), 0);
    await seen.close();
});

test("Enter commits one undo step, which both the key and the button take back", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    assert.ok(await page.isDisabled("#undo"));
    await page.fill(THRESHOLD, "7,5");
    await page.press(THRESHOLD, "Enter");
    await page.waitForSelector("#undo:enabled");
    assert.match(await page.getAttribute("#undo", "aria-label"), /^Undo: spike threshold/);
    assert.equal(await value(page, THRESHOLD), "7.5");
    await page.keyboard.press("Control+z");
    await page.waitForSelector("#redo:enabled");
    assert.equal(await value(page, THRESHOLD), "5");
    await page.click("#redo");
    await page.waitForFunction((id) => document.querySelector(id).value === "7.5", THRESHOLD);
    await page.keyboard.press("Control+z");
    await page.waitForFunction((id) => document.querySelector(id).value === "5", THRESHOLD);
    await page.keyboard.press("Control+Shift+z");
    await page.waitForFunction((id) => document.querySelector(id).value === "7.5", THRESHOLD);
    await seen.close();
});

test("what is typed and not committed is undone by the field itself", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.focus(THRESHOLD);
    await page.keyboard.type("1");
    await page.keyboard.press("Control+z");
    assert.ok(await page.isDisabled("#redo"));
    await seen.close();
});

test("typing is tried out live, and the cursor stays in the field", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.fill(THRESHOLD, "");
    await page.type(THRESHOLD, "12", { delay: 160 });
    await page.waitForFunction(
        () => /Did it with 12, 11/.test(document.querySelector("#step-spikes-remark").textContent),
    );
    assert.equal(await value(page, THRESHOLD), "12");
    assert.ok(await page.isDisabled("#undo"));
    assert.ok(await page.$eval(THRESHOLD, (one) => one === document.activeElement));
    await seen.close();
});

test("the summary beside the figure follows the procedure, and the table has heads", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    const words = () => page.textContent("figcaption .plate__words");
    const first = await words();
    await page.fill(THRESHOLD, "9");
    await page.waitForFunction((old) => {
        const now = document.querySelector("figcaption .plate__words").textContent;
        return now !== old;
    }, first);
    assert.match(await words(), /set to 9/);
    await page.click("text=The numbers");
    await page.waitForSelector(".plate table th[scope=col]");
    assert.equal(await page.locator(".plate canvas").getAttribute("aria-hidden"), "true");
    await seen.close();
});

test("pointer and keyboard read the same words at the same sample", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    const room = await page.locator(".plate__room").boundingBox();
    await page.mouse.move(room.x + room.width / 2, room.y + room.height / 2);
    const text = () => page.textContent(".plate__readout");
    const read = await text();
    assert.match(read, /s UTC, X/);
    const slider = page.locator("input[type=range]");
    assert.equal(await slider.getAttribute("aria-valuetext"), read);
    await slider.focus();
    await page.keyboard.press("ArrowRight");
    assert.notEqual(await text(), read);
    await page.keyboard.press("ArrowLeft");
    assert.equal(await text(), read);
    await seen.close();
});

/** The shown span of the figure, by what stands at both of its ends. */
async function ends(page) {
    const slider = page.locator("input[type=range]");
    await slider.focus();
    const read = async (key) => {
        await page.keyboard.press(key);
        return parseInt(await page.textContent(".plate__readout"), 10);
    };
    const from = await read("Home");
    return [from, await read("End")];
}

test("the figure zooms and pans by dragging, by keys and by buttons, and back", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    const whole = await ends(page);
    const room = await page.locator(".plate__room").boundingBox();
    const y = room.y + 60;
    const drag = async (from, to) => {
        await page.mouse.move(room.x + from, y);
        await page.mouse.down();
        await page.mouse.move(room.x + to, y, { steps: 4 });
        await page.mouse.up();
        await page.waitForTimeout(100);
    };
    await drag(200, 300);
    const near = await ends(page);
    assert.ok(near[1] - near[0] < (whole[1] - whole[0]) / 4, String(near));
    await page.keyboard.down("Shift");
    await drag(300, 250);
    await page.keyboard.up("Shift");
    const panned = await ends(page);
    assert.ok(panned[0] > near[0], String(panned));
    await page.click("text=Later");
    await page.waitForTimeout(100);
    assert.ok((await ends(page))[0] > panned[0]);
    await page.keyboard.press("0");
    await page.waitForTimeout(100);
    assert.deepEqual(await ends(page), whole);
    await page.keyboard.press("+");
    await page.waitForTimeout(100);
    assert.ok((await ends(page))[0] > whole[0]);
    await page.click("[aria-label='Back to the zoom before']");
    await page.waitForTimeout(100);
    assert.deepEqual(await ends(page), whole);
    await seen.close();
});

test("the wheel over a figure scrolls the page; with Ctrl it zooms", async () => {
    const seen = await visitDemo(browser, server.url, SMALL);
    const { page } = seen;
    const whole = await ends(page);
    const room = await page.locator(".plate__room").boundingBox();
    await page.mouse.move(room.x + 150, room.y + 50);
    await page.keyboard.down("Control");
    await page.mouse.wheel(0, -100);
    await page.keyboard.up("Control");
    await page.waitForTimeout(150);
    const near = await ends(page);
    assert.ok(near[1] - near[0] < whole[1] - whole[0]);
    await page.mouse.move(room.x + 150, room.y + 50);
    await page.mouse.wheel(0, 2000);
    await page.waitForTimeout(300);
    const moved = await page.evaluate(() => scrollY + document.querySelector("#plates").scrollTop);
    assert.ok(moved > 0);
    assert.deepEqual(await ends(page), near);
    await seen.close();
});

test("a span is marked without dragging and put into its slot", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.focus("#step-exclude-span");
    await settled(page);
    const slider = page.locator("input[type=range]");
    await slider.focus();
    await page.keyboard.press("Home");
    for (let steps = 0; steps < 5; steps += 1) await page.keyboard.press("ArrowRight");
    await page.keyboard.press("[");
    for (let steps = 0; steps < 9; steps += 1) await page.keyboard.press("ArrowRight");
    await page.keyboard.press("]");
    await page.click("text=Use this span");
    await page.waitForFunction(() => document.querySelector("#step-exclude-span").value !== "");
    assert.match(await value(page, "#step-exclude-span"), /^1970-01-01T02:30.*\/1970-01-01T07:00/);
    await seen.close();
});

test("a span is dragged on the figure when the slot asks for it", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.click("[aria-label='from the figure: Span left out']");
    await settled(page);
    const room = await page.locator(".plate__room").boundingBox();
    await page.mouse.move(room.x + 200, room.y + 60);
    await page.mouse.down();
    await page.mouse.move(room.x + 320, room.y + 60, { steps: 3 });
    await page.mouse.up();
    await page.click("text=Use this span");
    await page.waitForFunction(() => document.querySelector("#step-exclude-span").value !== "");
    await seen.close();
});

test("steps are moved, switched and taken out by buttons, and keep the focus", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    const order = () => page.$$eval(".step", (all) => all.map((one) => one.id));
    await page.focus("[aria-label='Move down: Spikes']");
    await page.keyboard.press("Enter");
    await page.waitForFunction(() =>
        /exclude/.test(document.querySelectorAll(".step")[2]?.id ?? ""),
    );
    assert.deepEqual((await order()).slice(2, 4), ["step-exclude", "step-spikes"]);
    await page.click("[aria-label='Spikes: use this step']");
    await page.waitForSelector("#step-spikes[data-status=off]");
    await page.click("[aria-label='Take out: Exclude']");
    await page.waitForFunction(() => document.querySelector("#step-exclude") === null);
    await seen.close();
});

test("an empty file is refused with a remedy while earlier work stays", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await drop(page, "body", [{ name: "empty.csv", bytes: "" }]);
    await page.waitForSelector(".notice[role=alert]");
    assert.match(await page.textContent(".notice"), /empty\.csv holds nothing.*Copy the file/s);
    assert.ok((await page.locator(".step").count()) > 0);
    await page.click("text=Dismiss");
    assert.equal(await page.locator(".notice").count(), 0);
    await seen.close();
});

test("an engine that stops is told of, and the work goes on from where it stood", async () => {
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

test("in forced colours the figure is drawn in the system's colours", async () => {
    const seen = await visitDemo(browser, server.url, { forcedColors: "active", colorScheme: "dark" });
    const { page } = seen;
    const found = await page.evaluate(() => {
        const canvas = document.querySelector(".plate__canvas");
        const [r, g, b] = canvas.getContext("2d").getImageData(2, 2, 1, 1).data;
        const probe = document.createElement("span");
        probe.style.color = "Canvas";
        document.body.append(probe);
        return { pixel: `rgb(${r}, ${g}, ${b})`, system: getComputedStyle(probe).color };
    });
    assert.equal(found.pixel, found.system);
    await seen.close();
});

test("a saved picture has the size that was asked for", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    const { bytes, name } = await downloaded(page, () =>
        page.click("[aria-label='Save the figure as PNG']"),
    );
    // 170 mm at 300 dots per inch: 170 / 25.4 * 300 = 2007.9.
    assert.deepEqual([readPng(bytes).width, readPng(bytes).height], [2008, 1181]);
    assert.match(name, /^tern-skerry-sixty-days-series.*\.png$/);
    await seen.close();
});

test("nothing is asked of another address, and nothing complains, from landing to saving", async () => {
    const seen = await visitDemo(browser, server.url);
    const { page } = seen;
    await page.fill(THRESHOLD, "6");
    await page.press(THRESHOLD, "Enter");
    await page.click("text=Picture of histogram");
    await downloaded(page, () => page.click("[aria-label='Save the figure as SVG']"));
    await downloaded(page, () => page.click("text=Save the procedure"));
    await downloaded(page, () => page.click("text=Save the processed data"));
    assertSameOrigin(seen, server.origin);
    assertQuiet(seen);
    await seen.close();
});
