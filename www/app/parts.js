/*
 * Where the engine's parts are.  The page's opening tag names their addresses;
 * in the page that is one file, they stand inside it as texts.
 */

/** The engine's code, packed with gzip and written in base64. */
const CODE = "engine-code";

/** The worker's script, whole. */
const WORKER = "engine-worker";

/**
 * The text of a part that stands inside the page.
 *
 * @param {string} id
 */
export function inside(id) {
    return document.getElementById(id)?.textContent ?? null;
}

/**
 * An address named in the page's opening tag.
 *
 * @param {"engine" | "worker"} part
 */
function address(part) {
    return new URL(document.documentElement.dataset[part] ?? "", document.baseURI);
}

/** The address of the engine's code. */
export function engineAddress() {
    return address("engine");
}

/**
 * The engine's code out of the page itself; null when it is a file of its own.
 *
 * @returns {Promise<ArrayBuffer> | null}
 */
export function engineInside() {
    const text = inside(CODE);
    return text === null ? null : unpacked(text);
}

/**
 * Bytes that were packed with gzip and written in base64.
 *
 * @param {string} text
 * @returns {Promise<ArrayBuffer>}
 */
export function unpacked(text) {
    const letters = atob(text.trim());
    const packed = new Uint8Array(letters.length);
    for (let at = 0; at < letters.length; at += 1) {
        packed[at] = letters.charCodeAt(at);
    }
    const plain = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    return new Response(plain).arrayBuffer();
}

/**
 * The catalogue of a language: its texts by their English.
 *
 * @param {string} language
 * @returns {Promise<Record<string, string>>}
 */
export async function catalogue(language) {
    const name = `words/${language}.json`;
    const text = inside(name);
    const come =
        text === null
            ? await fetch(new URL(name, document.baseURI))
            : new Response(await unpacked(text));
    return come.json();
}

/**
 * What starts a worker, now and whenever one was ended.  A published page
 * keeps the script, so that a worker can start anew without a network.
 *
 * @returns {Promise<() => Worker>}
 */
export async function workerMaker() {
    if (document.documentElement.dataset.published === undefined) {
        return () => new Worker(address("worker"), { type: "module" });
    }
    const script = inside(WORKER) ?? (await (await fetch(address("worker"))).text());
    const kept = URL.createObjectURL(new Blob([script], { type: "text/javascript" }));
    return () => new Worker(kept);
}
