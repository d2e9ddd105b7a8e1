/* What stands around the spread: the bar's buttons, the first view, the foot. */

import { byId, setAttribute, setText } from "./dom.js";
import { say } from "./words.js";

/** @import { State } from "./store.js" */

/** @param {Readonly<State>} state */
export function showFrame({ view }) {
    const isEmpty = view === null;
    setAttribute(document.body, "data-view", isEmpty ? "landing" : "spread");
    byId("landing", HTMLElement).hidden = !isEmpty;
    byId("spread", HTMLElement).hidden = isEmpty;
    byId("stages", HTMLElement).hidden = isEmpty;
    byId("bar-tools", HTMLElement).hidden = isEmpty;
    showBack("undo", say("Undo"), view?.undo ?? null);
    showBack("redo", say("Redo"), view?.redo ?? null);
    setText(byId("version", HTMLElement), view?.version ?? "");
    const log = view?.inputs.find((input) => input.use === "log");
    document.title = log === undefined ? "Lodelog" : `${log.name} – Lodelog`;
}

/**
 * @param {string} id
 * @param {string} word
 * @param {string | null} what
 */
function showBack(id, word, what) {
    const one = byId(id, HTMLButtonElement);
    one.disabled = what === null;
    const told = what === null ? word : `${word}: ${what}`;
    setAttribute(one, "aria-label", told);
    setAttribute(one, "title", told);
}
