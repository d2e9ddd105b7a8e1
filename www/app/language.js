/*
 * The choice of language, of the decimal mark and of how dates are written, at
 * the foot of the page; and an offer on the first view where the browser asks
 * for a language that is there.
 */

import { button, byId, make } from "./dom.js";
import { LANGUAGES, say, speech } from "./words.js";

/** @import { Speech } from "./words.js" */

/** How a language offers itself, in its own words. */
const OFFERS = /** @type {Record<string, string>} */ ({ de: "Diese Seite auf Deutsch lesen" });

/** @param {(wanted: Speech) => Promise<void>} speak */
export function mountLanguage(speak) {
    const root = byId("speech", HTMLElement);
    const language = select(Object.entries(LANGUAGES), speech().language);
    for (const option of language.options) {
        option.lang = option.value;
        option.translate = false;
    }
    const numbers = select([["point", "1,234.5"], ["comma", "1\u202f234,5"]], speech().comma ? "comma" : "point");
    const dates = select([["words", say("3 May 2026")], ["iso", "2026-05-03"]], speech().iso ? "iso" : "words");
    const change = async () => {
        const isOther = language.value !== speech().language;
        if (isOther) {
            numbers.value = language.value === "en" ? "point" : "comma";
        }
        const comma = numbers.value === "comma";
        await speak({ language: language.value, comma, iso: dates.value === "iso" });
        language.value = speech().language;
        numbers.value = speech().comma ? "comma" : "point";
    };
    for (const one of [language, numbers, dates]) {
        one.addEventListener("change", () => void change());
    }
    root.replaceChildren(
        make("label", {}, make("span", { text: say("Language") }), language),
        make("label", {}, make("span", { text: say("Numbers") }), numbers),
        make("label", {}, make("span", { text: say("Dates") }), dates),
    );
    offer(language);
}

/**
 * @param {[string, string][]} options
 * @param {string} chosen
 */
function select(options, chosen) {
    const made = options.map(([value, text]) => make("option", { value, text }));
    const root = make("select", { class: "field" }, ...made);
    root.value = chosen;
    return root;
}

// Where the browser asks for a language that is there and was not chosen.
/** @param {HTMLSelectElement} language */
function offer(language) {
    const asked = navigator.language.slice(0, 2);
    const text = OFFERS[asked];
    const place = byId("offer", HTMLElement);
    if (text === undefined || speech().language !== "en") {
        return;
    }
    const take = button(text, () => {
        language.value = asked;
        language.dispatchEvent(new Event("change"));
        place.replaceChildren();
    }, { lang: asked, translate: "no" });
    place.replaceChildren(take);
}
