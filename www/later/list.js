/* The list of all words, in which one can look for some. */

import { button, make, setText } from "../app/dom.js";

/** @import { Glossary } from "./glossary.js" */

/** @param {Glossary} glossary */
export function openList(glossary) {
    const { ui, terms } = glossary;
    const rows = [...terms]
        .sort((a, b) => a.term.localeCompare(b.term, glossary.language))
        .map(({ term, forms, text, source }) => ({
            sought: [term, ...forms, text].join(" ").toLowerCase(),
            row: make("div", {}, make("dt", { text: term }), make("dd", {},
                text, " ", make("span", { class: "word__source", text: `${ui.source}: ${source}` }))),
        }));
    const field = make("input", { type: "text", id: "words-find", autocomplete: "off", spellcheck: "false" });
    const none = make("p", { role: "status" });
    field.addEventListener("input", () => {
        const letters = field.value.trim().toLowerCase();
        rows.forEach(({ sought, row }) => {
            row.hidden = !sought.includes(letters);
        });
        setText(none, rows.every(({ row }) => row.hidden) ? ui.none : "");
    });
    const head = make("h2", { id: "words-title", text: ui.title });
    const list = make("dialog", { class: "keys words", "aria-labelledby": "words-title", lang: glossary.language });
    list.append(
        make("div", { class: "keys__head" }, head, button(ui.close, () => list.close())),
        make("p", { class: "words__find" }, make("label", { for: "words-find", text: ui.find }), " ", field),
        make("dl", {}, ...rows.map(({ row }) => row)),
        none,
    );
    list.addEventListener("close", () => list.remove());
    document.body.append(list);
    list.showModal();
    field.focus();
}
