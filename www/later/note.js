/*
 * The note that tells what one word means.  It is not modal: Escape, its button
 * or a click elsewhere puts it away, and the focus goes back to where it was.
 */

import { button, make } from "../app/dom.js";

/** @import { Glossary, Term } from "./glossary.js" */

/** How far the note keeps from the window's edge and from its word, CSS pixels. */
const MARGIN = 8;

const root = make("div", { class: "word", role: "dialog", tabindex: "-1", "aria-labelledby": "word-term" });

/** @type {HTMLElement | null} */
let before = null;

/**
 * @param {Glossary} glossary
 * @param {string} id
 * @param {DOMRect} beside the place of the word, in the window
 */
export function showNote(glossary, id, beside) {
    const term = glossary.term(id);
    if (term === undefined) {
        return;
    }
    if (!root.isConnected) {
        before = document.activeElement instanceof HTMLElement ? document.activeElement : null;
        document.body.append(root);
        document.addEventListener("pointerdown", hideFromOutside, true);
    }
    write(glossary, term, (other) => showNote(glossary, other, beside));
    place(beside);
    root.focus({ preventScroll: true });
}

/** Puts the note away. */
export function hideNote() {
    document.removeEventListener("pointerdown", hideFromOutside, true);
    const held = root.contains(document.activeElement);
    root.remove();
    if (held && before?.isConnected) {
        before.focus({ preventScroll: true });
    }
}

/** @param {PointerEvent} event */
function hideFromOutside({ target }) {
    if (target instanceof Node && !root.contains(target)) {
        hideNote();
    }
}

root.addEventListener("keydown", (event) => {
    if (event.key === "Escape") {
        event.preventDefault();
        event.stopPropagation();
        hideNote();
    }
});

/**
 * @param {Glossary} glossary
 * @param {Term} term
 * @param {(id: string) => void} turn
 */
function write(glossary, term, turn) {
    const { ui } = glossary;
    const others = term.see.flatMap((id) => glossary.term(id) ?? []);
    root.lang = glossary.language;
    root.replaceChildren(
        make("p", { class: "word__term", id: "word-term", text: term.term }),
        make("p", { text: term.text }),
        make("p", { class: "word__source", text: `${ui.source}: ${term.source}` }),
        make("p", { class: "word__see" }, `${ui.see}: `, ...others.map((other) =>
            button(other.term, () => turn(other.id)))),
        button(ui.close, hideNote),
    );
}

/** @param {DOMRect} beside */
function place(beside) {
    const { width, height } = root.getBoundingClientRect();
    const room = document.documentElement.clientWidth - width - MARGIN;
    const left = Math.max(MARGIN, Math.min(beside.left, room));
    const isBelow = beside.bottom + MARGIN + height <= window.innerHeight || beside.top < height + MARGIN;
    const top = isBelow ? beside.bottom + MARGIN : beside.top - MARGIN - height;
    root.style.left = `${left + window.scrollX}px`;
    root.style.top = `${top + window.scrollY}px`;
}
