/*
 * What this machine keeps of the work, in the browser's own store: the
 * procedure, the written part, and logs while they are small.  It never leaves
 * the machine, and one button takes it away.
 */

/** @import { Source } from "./sources.js" */
/** @import { Written } from "./written.js" */

/**
 * @typedef {object} Kept
 * @property {string} id
 * @property {string} name
 * @property {number} saved milliseconds since 1970
 * @property {unknown} procedure
 * @property {Written} written
 * @property {string | null} step
 * @property {string | null} figure
 * @property {KeptLog[]} logs
 */

/**
 * A log is kept whole while it is small; of a larger one, what names it.
 *
 * @typedef {{ sha256: string, name: string, size: number, source: Source | null,
 *     choices: Record<string, string> }} KeptLog
 */

/** Logs larger than this, together, are named and not kept. */
export const MOST_BYTES = 50_000_000;

const BASE = "lodelog";
const TABLE = "work";

/**
 * @param {IDBRequest} request
 * @returns {Promise<any>}
 */
function settled(request) {
    return new Promise((resolve, reject) => {
        request.onsuccess = () => resolve(request.result);
        request.onerror = () => reject(request.error ?? new Error("the store refused"));
    });
}

/** @returns {Promise<IDBDatabase>} */
function opened() {
    return new Promise((resolve, reject) => {
        // In a closed-off frame even asking is refused by an exception.
        const request = indexedDB.open(BASE, 1);
        request.onupgradeneeded = () => request.result.createObjectStore(TABLE, { keyPath: "id" });
        request.onsuccess = () => {
            // Another tab that forgets everything must not wait for this one.
            request.result.onversionchange = () => request.result.close();
            resolve(request.result);
        };
        request.onerror = () => reject(request.error ?? new Error("the store refused"));
        request.onblocked = () => reject(new Error("the store is busy"));
    });
}

/**
 * @template T
 * @param {IDBTransactionMode} mode
 * @param {(table: IDBObjectStore) => IDBRequest} act
 * @returns {Promise<T>}
 */
async function within(mode, act) {
    const base = await opened();
    try {
        return await settled(act(base.transaction(TABLE, mode).objectStore(TABLE)));
    } finally {
        base.close();
    }
}

/**
 * What is kept, the newest first; nothing where there is no store.
 *
 * @returns {Promise<Kept[]>}
 */
export async function keptWork() {
    // Asking a store that is not there would make one.
    const bases = "databases" in indexedDB ? await indexedDB.databases() : [{ name: BASE }];
    if (!bases.some(({ name }) => name === BASE)) {
        return [];
    }
    /** @type {Kept[]} */
    const all = await within("readonly", (table) => table.getAll());
    return all.sort((a, b) => b.saved - a.saved);
}

/** @param {Kept} kept */
export function keepWork(kept) {
    return within("readwrite", (table) => table.put(kept));
}

/** @param {string} id */
export function dropWork(id) {
    return within("readwrite", (table) => table.delete(id));
}

/** Leaves nothing of any work on this machine. */
export async function forgetAll() {
    try {
        localStorage.clear();
        sessionStorage.clear();
    } catch {
        // A store that cannot be reached holds nothing of ours.
    }
    await settled(indexedDB.deleteDatabase(BASE));
}

/**
 * Whether this tab alone writes to a piece of work: true until the tab goes.
 * Where the browser knows no locks, every tab believes it is alone.
 *
 * @param {string} id
 * @returns {Promise<boolean>}
 */
export function claim(id) {
    if (!("locks" in navigator)) {
        return Promise.resolve(true);
    }
    return new Promise((resolve) => {
        const held = navigator.locks.request(`lodelog ${id}`, { ifAvailable: true }, (lock) => {
            resolve(lock !== null);
            return lock === null ? undefined : new Promise(() => undefined);
        });
        held.catch(() => resolve(true));
    });
}

/** A name for a new piece of work, unlike any other. */
export function newId() {
    const parts = crypto.getRandomValues(new Uint32Array(3));
    return Array.from(parts, (part) => part.toString(36)).join("");
}
