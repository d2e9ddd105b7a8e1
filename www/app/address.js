/*
 * The end of the page's address: a link to some work, a lesson, or a log that
 * lies beside the page.
 */

/** @import { App } from "./app.js" */
/** @import { Fault } from "./protocol.js" */

import { workOf } from "./work.js";

/** A lesson is a small file. */
const LESSON_BYTES = 262_144;

/**
 * The address of a file inside the page's own folder; nothing for a path that
 * leads elsewhere.
 *
 * @param {string} path
 * @param {string} base address of the folder, or of a file in it
 * @returns {string | null}
 */
export function insidePath(path, base) {
    const isPlain = /^[A-Za-z0-9_][A-Za-z0-9_.-]*(\/[A-Za-z0-9_][A-Za-z0-9_.-]*)*$/.test(path);
    if (!isPlain || path.split("/").some((part) => /^\.+$/.test(part))) {
        return null;
    }
    const folder = new URL(".", base);
    const found = new URL(path, folder);
    return found.origin === folder.origin && found.href.startsWith(folder.href) ? found.href : null;
}

/**
 * Does what the address asks for.
 *
 * @param {App} app
 * @param {string} hash with its `#`
 */
export async function follow(app, hash) {
    const asked = hash.slice(1);
    try {
        if (asked === "demo") {
            await app.demo();
        } else if (asked.startsWith("log=")) {
            await app.open([await fetched(asked.slice(4), document.baseURI)]);
        } else if (asked.startsWith("lesson=")) {
            await lesson(app, asked.slice(7));
        } else if (/^\d+\.\d/.test(asked)) {
            const link = await app.ready;
            await app.taker.take(workOf(await link.share({ type: "read-link", fragment: asked })));
        }
    } catch (fault) {
        app.notices.raise(/** @type {Fault} */ (fault), true);
    }
}

/**
 * @param {string} path
 * @param {string} base
 * @returns {Promise<File>}
 * @throws {Fault}
 */
async function fetched(path, base) {
    const address = insidePath(path, base);
    if (address === null) {
        throw outside(path);
    }
    /** @type {Response | null} */
    const answer = await fetch(address).catch(() => null);
    if (answer === null || !answer.ok) {
        throw absent(path);
    }
    return new File([await answer.blob()], path.split("/").pop() ?? path);
}

/**
 * @param {string} text
 * @param {string} path
 * @returns {any}
 * @throws {Fault}
 */
function lessonIn(text, path) {
    try {
        const found = JSON.parse(text);
        if (typeof found === "object" && found !== null && found.schema === 1) {
            return found;
        }
    } catch {
        // Told below, as any other text that is no lesson.
    }
    throw noLesson(path);
}

/**
 * @param {App} app
 * @param {string} path
 */
async function lesson(app, path) {
    document.documentElement.dataset.lesson = "";
    const file = await fetched(path, document.baseURI);
    const address = insidePath(path, document.baseURI) ?? document.baseURI;
    const text = file.size <= LESSON_BYTES ? await file.text() : "";
    const found = lessonIn(text, path);
    const questions = Array.isArray(found.questions) ? found.questions : [];
    if (questions.length > 0) {
        app.written.ask(questions.map(String));
    }
    const paths = Array.isArray(found.files) ? found.files.map(String) : [];
    const files = [];
    for (const one of paths) {
        files.push(await fetched(one, address));
    }
    const work = workOf(found);
    work.sources = files.map((one) => ({ kind: "file", file: one, choices: {} }));
    work.written = null;
    if (Array.isArray(found.steps)) {
        await app.taker.take(work);
    } else if (files.length > 0) {
        await app.open(files);
    } else if (work.demo.length > 0) {
        await app.opener.replace(work.demo.map((name) => ({ kind: "demo", name, choices: {} })));
    }
}

/**
 * @param {string} path
 * @returns {Fault}
 */
function outside(path) {
    return {
        code: "address/outside",
        message: "This address asks for a file outside the page’s own folder, so nothing was fetched.",
        place: path.slice(0, 200),
        remedy: "Links to logs and lessons hold a plain path such as lessons/heading.json.",
    };
}

/**
 * @param {string} path
 * @returns {Fault}
 */
function absent(path) {
    return {
        code: "address/absent",
        message: "The file that this address asks for could not be fetched.",
        place: path.slice(0, 200),
        remedy: "Tell whoever gave you the address; your own log can be opened all the same.",
    };
}

/**
 * @param {string} path
 * @returns {Fault}
 */
function noLesson(path) {
    return {
        code: "address/no-lesson",
        message: "The file that this address asks for is not a lesson this version can read.",
        place: path.slice(0, 200),
        remedy: "A lesson is a small JSON file that begins with “schema”: 1.",
    };
}
