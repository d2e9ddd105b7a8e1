/* Keys that work anywhere on the page: undo and redo. */

/**
 * @param {{ undo: () => void, redo: () => void }} acts
 */
export function listenForUndo(acts) {
    document.addEventListener("keydown", (event) => {
        const held = (event.ctrlKey || event.metaKey) && !event.altKey;
        const key = event.key.toLowerCase();
        if (!held || (key !== "z" && key !== "y") || isTyping(event.target)) {
            return;
        }
        event.preventDefault();
        if (key === "y" || event.shiftKey) {
            acts.redo();
        } else {
            acts.undo();
        }
    });
}

// What is typed and not committed is undone by the field itself.
/** @param {EventTarget | null} target */
function isTyping(target) {
    if (target instanceof HTMLTextAreaElement) {
        return true;
    }
    return target instanceof HTMLInputElement && target.hasAttribute("data-open");
}
