/*
 * Warnings, faults and other short lists that the engine words: written only
 * when they differ, so that nothing flickers or is read out twice.
 */

import { make } from "./dom.js";

/** @import { Fault } from "./protocol.js" */

/** @type {WeakMap<Element, string>} */
const written = new WeakMap();

/**
 * Writes a list of children unless it stands there already.
 *
 * @template T
 * @param {HTMLElement} parent
 * @param {T[]} items
 * @param {(item: T) => HTMLElement} write
 */
export function replaceIfChanged(parent, items, write) {
    const form = JSON.stringify(items);
    if (written.get(parent) !== form) {
        written.set(parent, form);
        parent.replaceChildren(...items.map(write));
    }
    parent.hidden = items.length === 0;
}

/**
 * A warning or a fault: what, where, what to do next.
 *
 * @param {Fault & { isFault?: boolean }} fault
 */
export function remarkItem(fault) {
    const item = make("li", { class: fault.isFault ? "is-fault" : null, "data-code": fault.code });
    item.append(make("span", { text: fault.message }));
    if (fault.place !== "") {
        item.append(make("span", { class: "place", text: fault.place }));
    }
    if (fault.remedy !== "") {
        item.append(make("span", { class: "remedy", text: fault.remedy }));
    }
    return item;
}
