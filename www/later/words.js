/* Makes every trade term of the page reachable, once somebody has asked why. */

import { arrange, button, make, setAttribute, setText } from "../app/dom.js";
import { readGlossary } from "./glossary.js";
import { openList } from "./list.js";
import { hideNote, showNote } from "./note.js";
import { TEXTS, underline, wordAt } from "./underline.js";

/** @import { Glossary } from "./glossary.js" */

/** How long the page must stand still before its words are looked for again, milliseconds. */
const REST_MS = 400;

/** @type {Promise<Glossary> | null} */
let reading = null;

/** Waits until a Why or the list of words is asked for. */
export function mountWords() {
    const all = document.getElementById("words");
    all?.addEventListener("click", () => void open());
    document.addEventListener("toggle", ({ target }) => isWhy(target) && void start(), true);
    if (document.querySelector(".why[open]") !== null) {
        void start();
    }
    if (all?.dataset.asked !== undefined) {
        void open();
    }
    // Another language has other words.
    new MutationObserver(() => {
        if (reading !== null) {
            reading = null;
            void start();
        }
    }).observe(document.documentElement, { attributeFilter: ["lang"] });
}

async function open() {
    const glossary = await start();
    if (glossary !== null && document.querySelector(".words") === null) {
        openList(glossary);
    }
}

/** @param {EventTarget | null} target */
function isWhy(target) {
    return target instanceof HTMLElement && target.matches(".why");
}

/** @returns {Promise<Glossary | null>} null when the words did not arrive: the page does without */
async function start() {
    const isFirst = reading === null;
    reading ??= readGlossary();
    try {
        const glossary = await reading;
        if (isFirst) {
            follow(glossary);
        }
        return glossary;
    } catch {
        reading = null;
        return null;
    }
}

/** @type {() => void} */
let unfollow = () => undefined;

/** @param {Glossary} glossary */
function follow(glossary) {
    unfollow();
    hideNote();
    const spread = document.getElementById("spread") ?? document.body;
    const again = () => {
        spread.querySelectorAll(".why").forEach((why) => list(glossary, why));
        underline(glossary, spread);
    };
    let rest = 0;
    const later = () => {
        clearTimeout(rest);
        rest = setTimeout(again, REST_MS);
    };
    const watch = new MutationObserver(later);
    watch.observe(spread, { childList: true, characterData: true, subtree: true, attributeFilter: ["open"] });
    const byPointer = (/** @type {PointerEvent | MouseEvent} */ event) => pointed(glossary, event);
    spread.addEventListener("click", byPointer);
    spread.addEventListener("pointermove", byPointer);
    unfollow = () => {
        watch.disconnect();
        spread.removeEventListener("click", byPointer);
        spread.removeEventListener("pointermove", byPointer);
    };
    again();
}

/**
 * The pointer says by its form that a word can be asked for; a click asks.
 *
 * @param {Glossary} glossary
 * @param {PointerEvent | MouseEvent} event
 */
function pointed(glossary, { type, target, clientX, clientY }) {
    const text = target instanceof Element && target.closest("button, a, .slot") === null
        ? target.closest(TEXTS)
        : null;
    const word = text === null ? null : wordAt(clientX, clientY);
    if (type !== "click") {
        text?.classList.toggle("has-word", word !== null);
    } else if (word !== null && String(getSelection()) === "") {
        showNote(glossary, word.id, word.rect);
    }
}

/**
 * The words of a step, at the end of its opened Why: the way for the keyboard.
 *
 * @param {Glossary} glossary
 * @param {Element} why
 */
function list(glossary, why) {
    if (!(why instanceof HTMLDetailsElement && why.open)) {
        return;
    }
    const step = why.closest(".step") ?? why;
    const texts = [...step.querySelectorAll(TEXTS)].map((text) => textOf(text));
    const found = glossary.find(texts.join("\n")).flatMap(({ id }) => glossary.term(id) ?? []);
    let line = why.querySelector(".why__words");
    if (line === null) {
        line = make("p", { class: "why__words" });
        why.append(line);
    }
    const made = new Map([...line.children].map((child) => [child.getAttribute("data-word"), child]));
    const head = made.get("") ?? make("span", { "data-word": "" });
    setText(head, `${glossary.ui.here}: `);
    const wanted = found.map(({ id, term }) => {
        const one = made.get(id) ?? button("", () => showNote(glossary, id, one.getBoundingClientRect()), {
            "data-word": id,
        });
        setText(one, term);
        return one;
    });
    const all = made.get("*") ?? button("", () => openList(glossary), { "data-word": "*" });
    setText(all, glossary.ui.all);
    setAttribute(line, "lang", glossary.language);
    arrange(line, [head, ...wanted, all]);
}

/**
 * The text without what stands in its controls.
 *
 * @param {Element} text
 */
function textOf(text) {
    return [...text.childNodes]
        .map((node) => (node instanceof Element && node.matches(".slot") ? " " : node.textContent))
        .join("");
}
