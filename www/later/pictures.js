/* The small picture in an opened Why, out of the one sheet that holds them all. */

import { readBeside } from "./beside.js";

const SHEET = "pictures/why.svg";
const SVG = "http://www.w3.org/2000/svg";

/** @type {Promise<Document> | null} */
let sheet = null;

/** Draws the picture of every Why that is opened, now or later. */
export function mountPictures() {
    document.addEventListener("toggle", ({ target }) => void drawIn(target), true);
    document.querySelectorAll(".why[open]").forEach((why) => void drawIn(why));
}

/** @param {EventTarget | null} why */
async function drawIn(why) {
    if (!(why instanceof HTMLDetailsElement && why.open && why.matches(".why"))) {
        return;
    }
    const frame = why.querySelector(".why__picture");
    if (frame instanceof HTMLElement && frame.firstChild === null) {
        // Without its picture, a Why still has its three sentences.
        await draw(frame).catch(() => undefined);
    }
}

/** @param {HTMLElement} frame */
async function draw(frame) {
    sheet ??= readSheet();
    const symbol = (await sheet).getElementById(frame.dataset.step ?? "");
    if (symbol === null || frame.firstChild !== null) {
        return;
    }
    const picture = document.createElementNS(SVG, "svg");
    picture.setAttribute("viewBox", symbol.getAttribute("viewBox") ?? "");
    picture.setAttribute("class", "sketch");
    picture.setAttribute("aria-hidden", "true");
    picture.append(...[...symbol.children].map((line) => document.importNode(line, true)));
    frame.append(picture);
    frame.hidden = false;
}

async function readSheet() {
    try {
        return new DOMParser().parseFromString(await readBeside(SHEET), "image/svg+xml");
    } catch (error) {
        sheet = null;
        throw error;
    }
}
