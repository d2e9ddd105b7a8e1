/*
 * Keeps the whole page, so that it opens without a network.  A plain script:
 * module service workers are younger than the oldest browsers we serve.  The
 * publishing command writes the version and the parts; as it stands here, it
 * is not registered by anyone.
 */

/** The version of the page that this script belongs to. */
const VERSION = "";

/**
 * Every part of that version but its index, by the hash that its bytes must
 * have (as in Subresource Integrity).
 *
 * @type {Record<string, string>}
 */
const PARTS = {};

/** How long the network may take over the index before the one kept is shown. */
const PATIENCE_MS = 3000;

/** The page's own parts carry their hash: the same name is always the same bytes. */
const PART = /^[a-z]+-[0-9a-f]{12}\.[a-z]+$/;

const INDEX = "index.html";

const keeper = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const folder = keeper.registration.scope;
// Copies of the page under one host share their storage: each has its own names.
const ours = `lodelog-page ${folder} `;
const cacheName = ours + VERSION;

/** @param {string} name */
const at = (name) => new URL(name, folder).href;

/** All or nothing: one part that does not arrive whole, and this version is not kept. */
async function keepAll() {
    const [index, ...parts] = await Promise.all([ownIndex(), ...Object.keys(PARTS).map(part)]);
    const cache = await caches.open(cacheName);
    try {
        await Promise.all(parts.map(({ name, answer }) => cache.put(at(name), answer)));
        await cache.put(at(INDEX), index);
    } catch (error) {
        await caches.delete(cacheName);
        throw error;
    }
}

/** @param {string} name */
async function part(name) {
    const integrity = PARTS[name] ?? "";
    // What the page has just loaded is at hand; what was spoilt on the way is asked for anew.
    const answer = await fetch(at(name), { integrity }).catch(() =>
        fetch(at(name), { integrity, cache: "reload" }),
    );
    if (!answer.ok) {
        throw new Error(`${name} did not arrive`);
    }
    return { name, answer };
}

/** The index of this very version, by whichever of its two addresses gives it. */
async function ownIndex() {
    for (const address of [folder, at(INDEX)]) {
        const answer = await fetch(address, { cache: "no-cache" }).catch(() => null);
        const text = answer?.ok ? await answer.text() : "";
        if (text.includes(`data-version="${VERSION}"`)) {
            return new Response(text, { headers: { "Content-Type": "text/html; charset=utf-8" } });
        }
    }
    throw new Error("the index is of another version");
}

/** Tells every open page which version is kept now. */
async function tellAll() {
    const pages = await keeper.clients.matchAll({ type: "window", includeUncontrolled: true });
    pages.forEach((page) => page.postMessage({ lodelogVersion: VERSION }));
}

/** The version before this one stays for pages that are still open on it. */
async function tidyUp() {
    const names = await caches.keys();
    const others = names.filter((name) => name.startsWith(ours) && name !== cacheName);
    await Promise.all(others.slice(0, -1).map((name) => caches.delete(name)));
}

/**
 * What was kept of any version of this copy.
 *
 * @param {string} name
 */
async function kept(name) {
    const names = await caches.keys();
    for (const one of names.filter((each) => each.startsWith(ours))) {
        const found = await caches.match(at(name), { cacheName: one });
        if (found !== undefined) {
            return found;
        }
    }
    return undefined;
}

/** @param {Request} request */
async function partFor(request) {
    return (await kept(request.url)) ?? fetch(request);
}

/**
 * What keeps its name while it changes, such as a lesson: the newest there is.
 *
 * @param {Request} request
 */
async function otherFor(request) {
    const fresh = await fetch(request).catch(() => undefined);
    return fresh ?? (await kept(request.url)) ?? Response.error();
}

/**
 * The network's answer when it is a page of ours or leads elsewhere; null for
 * a fault, a filter's page or nothing at all.
 *
 * @param {Request} request
 */
async function freshIndex(request) {
    const answer = await fetch(request).catch(() => null);
    if (answer === null || answer.type === "opaqueredirect") {
        return answer;
    }
    const isOurs = answer.ok && (await answer.clone().text()).includes('data-engine="');
    return isOurs ? answer : null;
}

/** @param {Request} request */
async function indexFor(request) {
    const own = await caches.match(at(INDEX), { cacheName });
    if (own === undefined) {
        return fetch(request);
    }
    /** @type {Promise<null>} */
    const patience = new Promise((end) => setTimeout(end, PATIENCE_MS, null));
    return (await Promise.race([freshIndex(request), patience])) ?? own;
}

keeper.addEventListener("install", (event) => {
    event.waitUntil(keepAll().then(tellAll));
});
keeper.addEventListener("activate", (event) => {
    event.waitUntil(tidyUp().then(() => keeper.clients.claim()));
});
keeper.addEventListener("message", (event) => {
    if (event.data?.lodelog === "which-version") {
        event.source?.postMessage({ lodelogVersion: VERSION });
    } else if (event.data?.lodelog === "take-over") {
        void keeper.skipWaiting();
    }
});
keeper.addEventListener("fetch", (event) => {
    const { request } = event;
    const [address = ""] = request.url.split(/[?#]/);
    if (request.method !== "GET" || !address.startsWith(folder)) {
        return;
    }
    const name = address.slice(folder.length);
    if (request.mode === "navigate" && (name === "" || name === INDEX)) {
        event.respondWith(indexFor(request));
    } else if (PART.test(name)) {
        event.respondWith(partFor(request));
    } else if (request.mode !== "navigate" && name in PARTS) {
        event.respondWith(otherFor(request));
    }
});
