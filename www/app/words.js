/*
 * The words of the page in the language chosen.  Every text stands in the code
 * in English and is looked up here when it is shown; what the engine says comes
 * in that language already, from the same catalogue.
 */

import { catalogue } from "./parts.js";

/**
 * How the page speaks: the language, a comma before decimals, dates as ISO 8601.
 *
 * @typedef {{ language: string, comma: boolean, iso: boolean }} Speech
 */

/** The languages there are, each by its own name. */
export const LANGUAGES = { en: "English", de: "Deutsch" };

/** @type {Speech} */
const PLAIN = { language: "en", comma: false, iso: false };

/** @type {import("./protocol.js").Fault} */
export const unlearnt = {
    code: "page/words",
    message: "The words of this language could not be fetched.",
    place: "",
    remedy: "Choose it again when the network is there.",
};

/** Where the choice is kept. */
const KEY = "lodelog-speech";

/** @type {Map<string, string>} */
let texts = new Map();
let spoken = PLAIN;
/** What was said so far, back to its English. @type {Map<string, string>} */
let told = new Map();

/**
 * A text in the language chosen, its places filled.
 *
 * @param {string} english
 * @param {Record<string, string | number>} [values] by the names of the places
 */
export function say(english, values = {}) {
    const text = texts.get(english) ?? english;
    told.set(text, english);
    return text.replace(/\{(\w+)\}/g, (place, name) => String(values[name] ?? place));
}

/**
 * A whole number, with what stands between thousands.
 *
 * @param {number} whole
 */
export function number(whole) {
    return whole.toLocaleString("en-GB").replaceAll(",", spoken.comma ? "\u202f" : ",");
}

/**
 * A day of this year and a time of day, on this machine's clock.
 *
 * @param {number} at milliseconds since 1970
 */
export function moment(at) {
    const when = new Date(at);
    const month = when.toLocaleString("en-GB", { month: "long" });
    const time = when.toLocaleString("en-GB", { hour: "2-digit", minute: "2-digit" });
    return say("{day} {month}", { day: when.getDate(), month: say(month) }) + `, ${time}`;
}

/** How the page speaks now. */
export function speech() {
    return spoken;
}

/** The same for an engine, with the texts as pairs. */
export function speechOfEngine() {
    return { ...spoken, texts: JSON.stringify(Object.fromEntries(texts)) };
}

/** What was chosen on this computer before; plain English where nothing was. */
export function kept() {
    try {
        const found = JSON.parse(localStorage.getItem(KEY) ?? "{}");
        const language = found.language in LANGUAGES ? found.language : PLAIN.language;
        return { language, comma: found.comma === true, iso: found.iso === true };
    } catch {
        return PLAIN;
    }
}

/**
 * Keeps a choice for the next visit.
 *
 * @param {Speech} chosen
 */
export function keepChoice(chosen) {
    try {
        localStorage.setItem(KEY, JSON.stringify(chosen));
    } catch {
        // Then it holds for this visit.
    }
}

/**
 * Learns a language.
 *
 * @param {Speech} wanted
 */
export async function learn(wanted) {
    const all = wanted.language === "en" ? {} : await catalogue(wanted.language);
    texts = new Map(Object.entries(all));
    spoken = wanted;
    document.documentElement.lang = wanted.language;
}

/** Texts of elements that a student reads or hears. */
const ATTRIBUTES = ["aria-label", "title", "placeholder", "label", "content"];

/**
 * Says again what stands on the page and is not shown anew with the next view.
 *
 * @param {Map<string, string>} before the texts spoken until now, by their English
 */
export function retell(before) {
    const english = new Map([...[...before].map(([key, text]) => /** @type {const} */ ([text, key])), ...told]);
    told = new Map();
    const again = (/** @type {string} */ text) => {
        const plain = text.trim().replace(/\s+/g, " ");
        const key = english.get(plain) ?? plain;
        return plain !== "" && (texts.has(key) || english.has(plain)) ? say(key) : text;
    };
    const walk = document.createTreeWalker(document.documentElement, window.NodeFilter.SHOW_ALL);
    for (let node = walk.nextNode(); node !== null; node = walk.nextNode()) {
        if (node instanceof Element) {
            for (const name of ATTRIBUTES.filter((one) => node.hasAttribute(one))) {
                node.setAttribute(name, again(node.getAttribute(name) ?? ""));
            }
        } else if (node instanceof window.Text && node.parentElement?.closest(LEFT) === null) {
            const text = node.data;
            const anew = again(text);
            if (anew !== text) {
                node.data = text.replace(/\S[\s\S]*\S|\S/, () => anew);
            }
        }
    }
}

/** What is a stranger's text, or is no text at all. */
const LEFT = "script, style, tbody, textarea, [translate=no]";

/** The texts spoken now, by their English. */
export function textsNow() {
    return texts;
}
