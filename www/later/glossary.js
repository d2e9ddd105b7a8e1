/* The glossary: one plain file a language, and where its words stand in a text. */

import { readBeside } from "./beside.js";

/**
 * @typedef {object} Term
 * @property {string} id
 * @property {string} term as it is headed
 * @property {string[]} forms as it is written in sentences
 * @property {string} text
 * @property {string} source
 * @property {string[]} see the ids of others
 */

/** @typedef {Record<"title" | "find" | "none" | "close" | "see" | "source" | "here" | "all", string>} Labels */

/** Up to this length, capitals count: D is declination and d is not. */
const SYMBOL = 2;

/** The words of one language. */
export class Glossary {
    /** @type {Map<string, string>} the id by a form in small letters, or by a symbol as it is */
    #ids = new Map();

    /** @param {{ language: string, ui: Labels, terms: Term[] }} told */
    constructor(told) {
        this.language = told.language;
        this.ui = told.ui;
        this.terms = told.terms;
        const forms = told.terms.flatMap((term) => term.forms.map((form) => ({ form, id: term.id })));
        forms.forEach(({ form, id }) => this.#ids.set(keyOf(form), id));
        const longestFirst = forms.map(({ form }) => form).sort((a, b) => b.length - a.length);
        const any = longestFirst.map((form) => form.replace(/[.*+?^${}()|[\]\\]/g, "\\$&")).join("|");
        this.pattern = new RegExp(`(?<![\\p{L}\\p{N}])(?:${any})(?![\\p{L}\\p{N}])`, "giu");
    }

    /** @param {string} id */
    term(id) {
        return this.terms.find((one) => one.id === id);
    }

    /**
     * The words in a text, each where it first stands.
     *
     * @param {string} text
     * @returns {{ id: string, at: number, length: number }[]}
     */
    find(text) {
        /** @type {Map<string, { id: string, at: number, length: number }>} */
        const found = new Map();
        for (const { 0: form, index } of text.matchAll(this.pattern)) {
            const id = this.#ids.get(keyOf(form));
            if (id !== undefined && !found.has(id)) {
                found.set(id, { id, at: index ?? 0, length: form.length });
            }
        }
        return [...found.values()];
    }
}

/** @param {string} form */
function keyOf(form) {
    return form.length <= SYMBOL ? form : form.toLowerCase();
}

/** The glossary in the language of the page, or in English where that has none. */
export async function readGlossary() {
    const [language = "en"] = document.documentElement.lang.split("-");
    const text = await readBeside(`words/glossary.${language}.json`).catch(() =>
        readBeside("words/glossary.en.json"),
    );
    return new Glossary(JSON.parse(text));
}
