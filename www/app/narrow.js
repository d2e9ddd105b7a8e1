/*
 * Where the plates stand: on the facing page, or, when there is none, beneath
 * the step in hand.
 */

import { keepFocus } from "./dom.js";

const narrow = matchMedia("(max-width: 52rem)");

/**
 * @param {HTMLElement} plates
 * @param {HTMLElement} facing their place on the facing page
 */
export function placePlates(plates, facing) {
    /** @type {string | null} */
    let step = null;

    function place() {
        const beneath = step === null ? null : document.getElementById(`step-${step}`);
        const home = narrow.matches && beneath !== null ? beneath : facing;
        if (plates.parentElement === home) {
            return;
        }
        const before = beneath?.getBoundingClientRect().top;
        keepFocus(plates, () => home.append(plates));
        const after = beneath?.getBoundingClientRect().top;
        if (narrow.matches && before !== undefined && after !== undefined) {
            window.scrollBy(0, after - before);
        }
    }

    narrow.addEventListener("change", place);
    /** @param {string | null} inHand */
    return function follow(inHand) {
        step = inHand;
        place();
    };
}
