// The few things that a visitor does, the same in every browser: by Playwright in Chromium, by the
// commands of WebDriver in Firefox and WebKit.

import { launch, visit } from "./browser.mjs";
import { startFirefox, startWebKit } from "./driver.mjs";

/** The window, and how long a page may take for anything, milliseconds. */
const SIZE = { width: 1366, height: 900 };
const LATE_MS = 60_000;
const STILL_MS = 10_000;

/** What Enter is in the keys of WebDriver ("WebDriver", 17.4.2). */
const ENTER = "\uE007";

/**
 * @typedef {object} Hands
 * @property {(address: string) => Promise<void>} goTo a page's address, from a blank page
 * @property {(what: Function, ...given: any[]) => Promise<any>} run a function in the page
 * @property {(selector: string) => Promise<void>} click
 * @property {(selector: string, text: string) => Promise<void>} type in place of what stands, and Enter
 * @property {(selector: string, paths: string[]) => Promise<void>} choose files on the disk
 * @property {() => Promise<void>} close
 */

/**
 * Chromium, Firefox or WebKit.
 *
 * @param {"Chromium" | "Firefox" | "WebKit"} name
 * @param {{ variables?: Record<string, string>, preferences?: string }} [options]
 * @returns {Promise<Hands>}
 */
export async function handsIn(name, options) {
    if (name === "Chromium") return byPlaywright(options?.variables);
    const driver = await (name === "Firefox" ? startFirefox : startWebKit)(options);
    try {
        await driver.command("timeouts", { script: LATE_MS, pageLoad: LATE_MS });
        await driver.command("size", SIZE);
    } catch (error) {
        await driver.close();
        throw error;
    }
    return byDriver(driver);
}

/** @returns {Promise<Hands>} */
async function byPlaywright(variables = {}) {
    const browser = await launch({ env: { ...process.env, ...variables } });
    const { page } = await visit(browser, "about:blank", { viewport: SIZE });
    page.setDefaultTimeout(LATE_MS);
    return {
        async goTo(address) {
            await page.goto("about:blank");
            await page.goto(address);
        },
        run: (what, ...given) => page.evaluate(`(${what})(...${JSON.stringify(given)})`),
        click: (selector) => page.click(selector),
        async type(selector, text) {
            await page.fill(selector, text);
            await page.press(selector, "Enter");
        },
        choose: (selector, paths) => page.setInputFiles(selector, paths),
        close: () => browser.close(),
    };
}

/**
 * @param {import("./driver.mjs").Driver} driver
 * @returns {Hands}
 */
function byDriver({ command, close }) {
    const found = async (selector) => {
        const element = await command("find", { using: "css selector", value: selector });
        return { id: Object.values(element)[0] };
    };
    const clicked = async (selector) => {
        // WebKit's driver brings a thing to the very edge of the window, and then does not hit it.
        const script = `document.querySelector(arguments[0])?.scrollIntoView({ block: "center" });
            arguments[1]();`;
        await command("script", { script, args: [selector] });
        await command("click", await found(selector));
    };
    return {
        async goTo(address) {
            await command("goTo", { url: "about:blank" });
            await command("goTo", { url: address });
        },
        async run(what, ...given) {
            const script = `const done = arguments[arguments.length - 1];
                Promise.resolve().then(() => (${what})(...arguments[0]))
                    .then((value) => done({ value }), (error) => done({ error: String(error) }));`;
            const { value, error } = await command("script", { script, args: [given] });
            if (error !== undefined) throw new Error(error);
            return value;
        },
        click: async (selector) => standing(() => clicked(selector)),
        async type(selector, text) {
            const { id } = await found(selector);
            await command("clear", { id });
            await command("keys", { id, text: text + ENTER });
        },
        choose: async (selector, paths) => command("keys", { ...(await found(selector)), text: paths.join("\n") }),
        close,
    };
}

/** Does what needs a thing that stands still: while the page is laid out anew, a driver may miss it. */
async function standing(act) {
    const late = Date.now() + STILL_MS;
    for (;;) {
        try {
            return await act();
        } catch (error) {
            if (Date.now() > late || !/not interactable|intercepted|stale/.test(String(error))) throw error;
            await new Promise((done) => { setTimeout(done, 100); });
        }
    }
}

/** What the page says when its engine came to an end. */
const ended = () => /The engine stopped: [^.]*/.exec(document.body?.textContent ?? "")?.[0];

/**
 * Asks the page until it answers with something, or says that its engine came to an end.
 *
 * @param {Hands} hands
 * @param {Function} what
 * @param {...any} given
 */
export async function until(hands, what, ...given) {
    const late = Date.now() + LATE_MS;
    for (;;) {
        const value = await hands.run(what, ...given);
        if (value) return value;
        const end = await hands.run(ended);
        if (end) throw new Error(end);
        if (Date.now() > late) throw new Error(`Not within a minute: ${what}`);
        await new Promise((done) => { setTimeout(done, 50); });
    }
}
