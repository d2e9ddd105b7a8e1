/*
 * Files into the engine, chunk by chunk.
 */

/** @import { Engine } from "../pkg/page.js" */
/** @import { Fault } from "../app/protocol.js" */

/** Sizes of files that the browser hashes as a whole, bytes. */
const HASHED_APART = { least: 1 << 22, most: 1 << 28 };

/**
 * Reads a file to its end.  The browser hashes a large one meanwhile, where it
 * can; then the engine need not.
 *
 * @param {Engine} engine
 * @param {File} file
 * @param {() => void} begin begins the reading in the engine, once more if need be
 * @param {(share: number) => void} tell hears the share that was read
 * @returns {Promise<void>}
 */
export async function readInto(engine, file, begin, tell) {
    const hash = hashOf(file);
    begin();
    if (hash === null) {
        await push(engine, file, tell);
        engine.finish();
        return;
    }
    engine.leave_hash();
    await push(engine, file, tell);
    const sha256 = await hash;
    if (sha256 === null) {
        begin();
        await push(engine, file, tell);
    }
    engine.finish(sha256 ?? undefined);
}

/**
 * @param {Engine} engine
 * @param {File} file
 * @param {(share: number) => void} tell
 */
async function push(engine, file, tell) {
    const reader = chunksOf(file).getReader();
    let done = 0;
    for (;;) {
        const { value, done: over } = await nextOf(reader, file.name);
        if (over) {
            return;
        }
        engine.push(value);
        done += value.byteLength;
        tell(file.size > 0 ? done / file.size : 0);
    }
}

/**
 * The SHA-256 of a file, null where the browser fails at it; null at once where
 * it has none (pages that are not secure) or the file had better be read in
 * pieces only.
 *
 * @param {File} file
 * @returns {Promise<string | null> | null}
 */
function hashOf(file) {
    const subtle = /** @type {SubtleCrypto | undefined} */ (self.crypto?.subtle);
    if (subtle === undefined || file.size < HASHED_APART.least || file.size > HASHED_APART.most) {
        return null;
    }
    return file.arrayBuffer()
        .then((bytes) => subtle.digest("SHA-256", bytes))
        .then((hash) => [...new Uint8Array(hash)].map((byte) => byte.toString(16).padStart(2, "0")).join(""))
        .catch(() => null);
}

/**
 * The next chunk of a file.  What stands in its way is no fault of the engine,
 * whatever the browser calls it.
 *
 * @param {ReadableStreamDefaultReader<Uint8Array>} reader
 * @param {string} name
 */
async function nextOf(reader, name) {
    try {
        return await reader.read();
    } catch {
        throw JSON.stringify(unreadable(name));
    }
}

/**
 * @param {File} file
 * @returns {ReadableStream<Uint8Array>}
 */
function chunksOf(file) {
    try {
        return file.stream();
    } catch {
        throw JSON.stringify(unreadable(file.name));
    }
}

/**
 * @param {string} name
 * @returns {Fault}
 */
export function unreadable(name) {
    return {
        code: "page/unreadable",
        message: "This file could not be read.",
        place: name,
        remedy: "A folder cannot be read as a log: drop the file inside it. A file that was moved, changed or is kept elsewhere must be copied to this computer first.",
    };
}
