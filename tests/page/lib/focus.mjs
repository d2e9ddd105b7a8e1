// Where the keyboard goes on the page: each stop of Tab, its ring, and whether it can be seen.

/**
 * @typedef {object} Stop
 * @property {string} name the start of its markup
 * @property {number} ring width of the focus ring, pixels
 * @property {number[]} colour of the ring
 * @property {number[]} ground what the ring stands on
 * @property {boolean} covered whether something lies over it
 */

/** The element in focus, told as a stop; null on the page as a whole. */
export function focused(page) {
    return page.evaluate(() => {
        const element = document.activeElement;
        if (!element || element === document.body) return null;
        const isNew = element.dataset.order === undefined;
        if (isNew) element.dataset.order = String(document.querySelectorAll("[data-order]").length);
        const holder = element.closest(".slot") ?? element;
        const style = getComputedStyle(holder);
        const numbers = (text) => (text.match(/[\d.]+/g) ?? []).map(Number);
        const groundOf = (one) => numbers(getComputedStyle(one).backgroundColor);
        let behind = holder.parentElement ?? holder;
        while (behind.parentElement && groundOf(behind)[3] === 0) {
            behind = behind.parentElement;
        }
        const [box] = element.getClientRects();
        const middle = [box.left + Math.min(box.width, 40) / 2, box.top + box.height / 2];
        const top = document.elementFromPoint(...middle);
        return {
            isNew,
            order: element.dataset.order,
            ring: style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth),
            colour: numbers(style.outlineColor).slice(0, 3),
            ground: groundOf(behind).slice(0, 3),
            covered: !(top && (element.contains(top) || top.contains(element) || holder.contains(top))),
            name: element.outerHTML.slice(0, 110),
        };
    });
}

/**
 * Presses Tab from the top of the page until the focus leaves it.  Once around: figures of
 * another step bring buttons of their own when the focus passes its slots again.
 *
 * @param {import("playwright-core").Page} page
 * @param {number} most presses
 * @returns {Promise<{ visited: Stop[], missed: string[], astray: string[] }>} `missed`: controls
 *     that Tab never reached; `astray`: stops that come before one that stands above them
 */
export async function stops(page, most) {
    // Focus on the page as a whole: Tab goes on from its top.
    await page.evaluate(() => {
        document.body.tabIndex = -1;
        document.body.focus();
        document.body.removeAttribute("tabindex");
    });
    const visited = [];
    for (let presses = 0; presses < most; presses += 1) {
        await page.keyboard.press("Tab");
        const found = await focused(page);
        if (found === null) break;
        if (found.isNew) visited.push(found);
    }
    return { visited, ...(await page.evaluate(afterwards)) };
}

/** Runs in the page: what was never reached, and what was reached out of order. */
function afterwards() {
    const all = [...document.querySelectorAll("a[href], button, input, select, summary, textarea")];
    const missed = all
        .filter((one) => one.checkVisibility() && !one.disabled && one.tabIndex >= 0)
        .filter((one) => one.dataset.order === undefined)
        .map((one) => one.outerHTML.slice(0, 110));
    const reached = [...document.querySelectorAll("[data-order]")]
        .filter((one) => !one.matches(".skip"))
        .sort((a, b) => Number(a.dataset.order) - Number(b.dataset.order));
    const astray = [];
    for (const column of ["header", "#procedure", "#plates"]) {
        const inside = reached.filter((one) => one.closest(column) !== null);
        inside.slice(1).forEach((one, at) => {
            const before = inside[at].getClientRects()[0];
            const here = one.getClientRects()[0];
            const isAbove = here.bottom <= before.top + 1;
            const isLeft = here.top < before.bottom - 1 && here.bottom > before.top + 1 && here.right <= before.left + 1;
            if (isAbove || isLeft) astray.push(`${one.outerHTML.slice(0, 90)} after ${inside[at].outerHTML.slice(0, 90)}`);
        });
    }
    return { missed, astray };
}

/**
 * The contrast of two colours, 1 to 21.
 *
 * Source: WCAG 2.2, definitions of contrast ratio and relative luminance.
 *
 * @param {number[]} a red, green, blue, 0 to 255
 * @param {number[]} b
 */
export function contrast(a, b) {
    const luminance = (rgb) => {
        const [red, green, blue] = rgb.map((part) => {
            const share = part / 255;
            return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
        });
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    };
    const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
    return (high + 0.05) / (low + 0.05);
}
