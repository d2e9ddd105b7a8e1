/* Faults that belong to no step: what, where, what next, until dismissed. */

import { button, make } from "./dom.js";
import { say } from "./words.js";

/** @import { Fault } from "./protocol.js" */

/** @param {HTMLElement} root */
export function createNotices(root) {
    return {
        /**
         * @param {Fault} fault
         * @param {boolean} [isLoss] whether work was lost or a log not read
         */
        raise(fault, isLoss = false) {
            for (const one of [...root.children]) {
                if (one.getAttribute("data-code") === fault.code) {
                    one.remove();
                }
            }
            const what = make("span", { class: "notice__what", text: say(fault.message) });
            const place = fault.place === "" ? "" : ` (${fault.place})`;
            const rest = fault.remedy === "" ? place : `${place} ${say(fault.remedy)}`;
            const text = make("p", { class: "notice__text" }, what, rest);
            const notice = make("div", { class: "notice", "data-code": fault.code });
            if (isLoss) {
                notice.setAttribute("role", "alert");
            }
            notice.append(text, button(say("Dismiss"), () => notice.remove()));
            root.prepend(notice);
            notice.scrollIntoView({ block: "nearest" });
        },
        /**
         * Takes a notice away that no longer holds.
         *
         * @param {string} code
         */
        lower(code) {
            for (const one of [...root.children]) {
                if (one.getAttribute("data-code") === code) {
                    one.remove();
                }
            }
        },
        clear() {
            root.replaceChildren();
        },
    };
}
