/*
 * The share link, with its QR code and what it holds in words.
 */

import { button, make, setAttribute, setText } from "./dom.js";
import { number, say } from "./words.js";

/** @import { Drawing } from "./drawing.js" */

/** Longer links are broken by programs that pass them on. */
const LONGEST = 8_000;

const SVG = "http://www.w3.org/2000/svg";

/**
 * @param {{ link: () => Promise<string>, drawing: () => Drawing | null,
 *     copy: (text: string, place: HTMLElement) => void, saveProcedure: () => void }} acts
 */
export function mountShare(acts) {
    const field = make("output", { class: "share__link", "aria-label": say("The link") });
    const told = make("p", { class: "share__told" });
    const code = make("div", { class: "share__code" });
    const copy = button(say("Copy the link"), () => acts.copy(field.textContent ?? "", field));
    const file = button(say("Save the procedure as a file instead"), acts.saveProcedure);
    const summary = make("summary", { text: say("Link and QR code") });
    const root = make("details", { class: "share" }, summary, field, make("div", { class: "row" }, copy, file), told, code);
    const show = async () => {
        const link = await acts.link();
        const isLong = link.length > LONGEST;
        setText(field, isLong ? "" : link);
        field.hidden = isLong;
        copy.hidden = isLong;
        const length = number(link.length);
        setText(told, isLong ? tooLong(length) : holds(length));
        const drawn = isLong ? undefined : acts.drawing()?.qr_code(link);
        code.replaceChildren(drawn === undefined ? make("p", { text: noCode() }) : picture(drawn));
    };
    root.addEventListener("toggle", () => root.open && void show());
    return {
        root,
        /** The procedure has changed. */
        update: () => root.open && void show(),
    };
}

/** @param {string} length */
function holds(length) {
    return say("{length} characters. The link holds the procedure and the station’s place, not the log and not your names. The part after # is not sent to any server, but it stays in the browser’s history and wherever you paste it.", { length });
}

/** @param {string} length */
function tooLong(length) {
    return say("This procedure makes a link of {length} characters, which many programs would cut. Save it as a file: dropped on this page it does the same.", { length });
}

const noCode = () => say("The link is too long for a QR code that a projector can show (412 characters).");

/** @param {string} drawn */
function picture(drawn) {
    const { side, path } = JSON.parse(drawn);
    const svg = document.createElementNS(SVG, "svg");
    setAttribute(svg, "viewBox", `0 0 ${side} ${side}`);
    setAttribute(svg, "role", "img");
    setAttribute(svg, "aria-label", say("QR code of the link"));
    setAttribute(svg, "class", "share__qr");
    const paper = document.createElementNS(SVG, "rect");
    setAttribute(paper, "width", side);
    setAttribute(paper, "height", side);
    setAttribute(paper, "fill", "#fff");
    const dark = document.createElementNS(SVG, "path");
    setAttribute(dark, "d", path);
    setAttribute(dark, "fill", "#000");
    svg.append(paper, dark);
    return svg;
}
