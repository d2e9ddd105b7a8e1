/*
 * How a log comes in: dropped anywhere, chosen, or pasted as text.  What is in
 * it is judged by the engine, never by its name.
 */

import { byId, setAttribute } from "./dom.js";

/**
 * @param {(files: File[]) => void} open
 */
export function acceptLogs(open) {
    const picker = byId("picker", HTMLInputElement);
    const pick = () => picker.click();
    byId("pick", HTMLButtonElement).addEventListener("click", pick);
    byId("another-log", HTMLButtonElement).addEventListener("click", pick);
    picker.addEventListener("change", () => {
        const files = [...(picker.files ?? [])];
        picker.value = "";
        open(files);
    });
    acceptDrops(open);
    acceptText(open);
}

/** @param {(files: File[]) => void} open */
function acceptDrops(open) {
    const body = document.body;
    let depth = 0;
    const mark = (/** @type {number} */ by) => {
        depth = Math.max(depth + by, 0);
        body.classList.toggle("is-dropping", depth > 0);
    };
    body.addEventListener("dragenter", () => mark(1));
    body.addEventListener("dragleave", () => mark(-1));
    body.addEventListener("dragover", (event) => event.preventDefault());
    body.addEventListener("drop", (event) => {
        event.preventDefault();
        depth = 0;
        mark(0);
        const files = [...(event.dataTransfer?.files ?? [])];
        const text = event.dataTransfer?.getData("text/plain") ?? "";
        open(files.length === 0 && text !== "" ? [asFile(text)] : files);
    });
}

/** @param {(files: File[]) => void} open */
function acceptText(open) {
    const toggle = byId("paste-open", HTMLButtonElement);
    const place = byId("paste", HTMLElement);
    const text = byId("paste-text", HTMLTextAreaElement);
    toggle.addEventListener("click", () => {
        place.hidden = !place.hidden;
        setAttribute(toggle, "aria-expanded", place.hidden ? "false" : "true");
        if (!place.hidden) {
            text.focus();
        }
    });
    byId("paste-read", HTMLButtonElement).addEventListener("click", () => {
        open([asFile(text.value)]);
    });
    document.addEventListener("paste", (event) => {
        const target = event.target;
        const isField = target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement;
        const files = [...(event.clipboardData?.files ?? [])];
        const pasted = event.clipboardData?.getData("text/plain") ?? "";
        if (!isField && (files.length > 0 || pasted !== "")) {
            event.preventDefault();
            open(files.length > 0 ? files : [asFile(pasted)]);
        }
    });
}

/** @param {string} text */
function asFile(text) {
    return new File([text], "pasted text");
}

/** A hand-in with many figures is still smaller. */
const HAND_IN_BYTES = 33_554_432;

/**
 * The text of a hand-in, when that is what a file holds.
 *
 * @param {File} file
 * @returns {Promise<string | null>}
 */
export async function handInIn(file) {
    if (file.size === 0 || file.size > HAND_IN_BYTES) {
        return null;
    }
    try {
        const start = await file.slice(0, 400).text();
        if (!/^\s*<!doctype html/i.test(start) || !start.includes('content="Lodelog ')) {
            return null;
        }
        return await file.text();
    } catch {
        return null;
    }
}

/** A saved procedure or calibration is small; a larger file is a log. */
const PROCEDURE_BYTES = 262_144;

/**
 * The procedure or the kept calibration in a file, when that is what it holds.
 *
 * @param {File} file
 * @returns {Promise<object | null>}
 */
export async function procedureIn(file) {
    if (!/\.json$/i.test(file.name) || file.size > PROCEDURE_BYTES) {
        return null;
    }
    try {
        const found = JSON.parse(await file.text());
        if (typeof found !== "object" || found === null) {
            return null;
        }
        const isProcedure = Array.isArray(found.steps) && "schema" in found;
        return isProcedure || "calibration" in found ? found : null;
    } catch {
        return null;
    }
}
