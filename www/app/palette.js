/*
 * The colours that a figure is drawn in: those of the page, or those that the
 * reader's system insists on.
 */

const dark = matchMedia("(prefers-color-scheme: dark)");
const forced = matchMedia("(forced-colors: active)");

/**
 * A colour of the system as red, green and blue.
 *
 * @param {string} name
 */
function systemColour(name) {
    const probe = document.createElement("span");
    probe.style.color = name;
    document.body.append(probe);
    const found = getComputedStyle(probe).color;
    probe.remove();
    return found;
}

/** @param {string} name */
function token(name) {
    return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

/** The palette as the engine reads it. */
export function palette() {
    if (forced.matches) {
        return JSON.stringify({
            base: "forced",
            ink: systemColour("CanvasText"),
            faint: systemColour("GrayText"),
            paper: systemColour("Canvas"),
            accent: systemColour("Highlight"),
        });
    }
    return JSON.stringify({
        base: dark.matches ? "dark" : "light",
        ink: token("--ink"),
        soft: token("--ink-small"),
        accent: token("--accent"),
        paper: token("--paper"),
    });
}

/** The palette for paper. */
export const PRINT = JSON.stringify({ base: "print" });

/** @param {() => void} redraw */
export function onPaletteChange(redraw) {
    dark.addEventListener("change", redraw);
    forced.addEventListener("change", redraw);
}
