/* Files and copies that leave the page for the student's own machine. */

/** @import { Fault } from "./protocol.js" */

/**
 * @param {string} name
 * @param {BlobPart} content
 * @param {string} type
 */
export function download(name, content, type) {
    const address = URL.createObjectURL(new Blob([content], { type }));
    const anchor = document.createElement("a");
    anchor.href = address;
    anchor.download = name;
    anchor.click();
    setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

/** @type {Fault} */
const noClipboard = {
    code: "page/no-clipboard",
    message: "This browser does not let the page copy.",
    place: "",
    remedy: "Save the figure or the text instead.",
};

/** @type {Fault} */
const selected = { ...noClipboard, remedy: "The text is selected: copy it with Ctrl+C." };

/**
 * @param {Promise<Blob>} picture
 * @throws {Fault}
 */
export async function copyPicture(picture) {
    if (!("clipboard" in navigator) || typeof ClipboardItem === "undefined") {
        throw noClipboard;
    }
    try {
        await navigator.clipboard.write([new ClipboardItem({ "image/png": picture })]);
    } catch (error) {
        throw typeof error === "object" && error !== null && "code" in error && "remedy" in error
            ? error
            : noClipboard;
    }
}

/**
 * Copies a text; without leave to do so, selects where it stands.
 *
 * @param {string} text
 * @param {HTMLElement | null} place
 * @throws {Fault}
 */
export async function copyText(text, place) {
    try {
        await navigator.clipboard.writeText(text);
    } catch {
        if (place !== null) {
            window.getSelection()?.selectAllChildren(place);
        }
        throw selected;
    }
}
