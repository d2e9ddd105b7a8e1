/*
 * The list of keys and gestures, opened by ? or by its button.  The key can be
 * switched off in the list itself, for those who speak to their computer.
 */

import { button, byId, make } from "./dom.js";
import { say } from "./words.js";

/** @type {[string, [string, string][]][]} */
const GROUPS = [
    ["Anywhere", [
        ["Ctrl+Z", "Undo"],
        ["Ctrl+Shift+Z, Ctrl+Y", "Redo"],
        ["Ctrl+V", "Open the file or the text that was copied"],
        ["?", "This list"],
    ]],
    ["In a number", [
        ["↑ ↓", "One step more or less"],
        ["Page Up, Page Down", "Ten steps"],
        ["Enter", "Keep what was typed"],
        ["Escape", "Put back what stood there"],
    ]],
    ["On the cursor of a figure", [
        ["← →", "To the next sample"],
        ["Home, End", "To the first or the last"],
        ["+ −", "Nearer, farther"],
        [", .", "Earlier, later"],
        ["0", "All of the figure"],
        ["[ ]", "Begin and end a span"],
        ["Escape", "Put the cursor away"],
    ]],
    ["With the pointer on a figure", [
        ["Drag", "Zoom to a stretch, or mark a span"],
        ["Shift+drag", "Pan"],
        ["Double click", "All of the figure"],
        ["Ctrl+wheel", "Nearer, farther"],
        ["One finger sideways", "Pan"],
        ["Two fingers", "Nearer, farther"],
    ]],
];

/** Lets ? and the button open the list. */
export function mountShortcuts() {
    /** @type {ReturnType<typeof build> | null} */
    let list = null;
    const open = () => {
        list ??= build();
        if (!list.root.open) {
            list.root.showModal();
        }
    };
    byId("keys", HTMLButtonElement).addEventListener("click", open);
    document.addEventListener("keydown", (event) => {
        const isHeld = event.ctrlKey || event.metaKey || event.altKey;
        if (event.key === "?" && !isHeld && !isText(event.target) && list?.byKey.checked !== false) {
            event.preventDefault();
            open();
        }
    });
}

/** @param {EventTarget | null} target */
function isText(target) {
    const isInput = target instanceof HTMLInputElement && target.type === "text";
    return isInput || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement;
}

function build() {
    const groups = GROUPS.map(([name, keys]) => {
        const rows = keys.map(([key, text]) => {
            const term = make("dt", {}, make("kbd", { text: say(key) }));
            return make("div", {}, term, make("dd", { text: say(text) }));
        });
        return make("section", {}, make("h3", { text: say(name) }), make("dl", {}, ...rows));
    });
    const byKey = make("input", { type: "checkbox", checked: true });
    const lever = make("label", { class: "keys__lever" }, byKey, say("Open this list with the key ?"));
    const head = make("h2", { id: "keys-title", text: say("Keys and gestures") });
    const close = button(say("Close"), () => root.close());
    const body = make("div", { class: "keys__groups" }, ...groups);
    const root = make("dialog", { class: "keys", "aria-labelledby": "keys-title" });
    root.append(make("div", { class: "keys__head" }, head, close), body, lever);
    document.body.append(root);
    return { root, byKey };
}
