/*
 * Three things to try on the demo log, each a press away from its place, and
 * then a log of one's own.  Put away once, they do not come back.
 */

import { byId, button, make, setAttribute } from "./dom.js";
import { replaceIfChanged } from "./remarks.js";
import { say } from "./words.js";

/** @import { Try } from "./protocol.js" */
/** @import { State } from "./store.js" */

const AWAY = "lodelog-tries";

export function mountTries() {
    /** @type {Set<string>} */
    const done = new Set();
    /** @type {Set<string>} */
    const asked = new Set();
    let away = isAway();
    const list = make("ol");
    const own = make("p", {}, say("Now your own log:"), " ");
    own.append(button(say("Open a log"), () => byId("another-log", HTMLButtonElement).click()));
    const root = make("section", { class: "tries", "aria-label": say("To try"), hidden: true });
    root.append(make("p", { class: "tries__head" }, say("Three things to try"), button(say("Put away"), () => {
        away = true;
        root.hidden = true;
        byId("procedure", HTMLElement).focus();
        remember();
    })), list, own);
    return {
        root,
        /** @param {Readonly<State>} state */
        update({ view, inHand }) {
            const tries = view?.tries ?? [];
            const isLesson = document.documentElement.dataset.lesson !== undefined;
            root.hidden = away || isLesson || tries.length === 0;
            for (const { step, part, done: isDone } of tries) {
                if (isDone || (part === "plate" && asked.has(step) && inHand === step)) {
                    done.add(step);
                }
            }
            replaceIfChanged(list, tries.map(({ step, part, act, look }) => ({ step, part, act, look })),
                (one) => item(one, asked));
            tries.forEach(({ step }, at) => {
                const tick = list.children[at]?.lastElementChild;
                if (tick instanceof Element) {
                    setAttribute(tick, "hidden", !done.has(step));
                }
            });
            own.hidden = tries.some(({ step }) => !done.has(step));
        },
    };
}

/**
 * @param {Omit<Try, "done">} one
 * @param {Set<string>} asked
 */
function item({ step, part, act, look }, asked) {
    const places = { switch: `#step-${step} .step__switch input`, plate: `#step-${step} .step__plates button` };
    const place = part === "switch" || part === "plate" ? places[part] : `#step-${step}-${part}`;
    const go = button(act, () => {
        asked.add(step);
        const there = document.querySelector(place);
        if (there instanceof HTMLElement) {
            there.focus();
        }
    });
    const tick = make("span", { class: "tries__tick", hidden: true, text: say("Tried ✓") });
    return make("li", {}, go, ` ${look} `, tick);
}

// Where nothing may be stored, they come back with the next visit.
function isAway() {
    try {
        return localStorage.getItem(AWAY) !== null;
    } catch {
        return false;
    }
}

function remember() {
    try {
        localStorage.setItem(AWAY, "");
    } catch {
        // As above.
    }
}
