// A static server for one folder on a random port of this machine, with the faults that real
// servers have on request: a path in front, wrong media types, files replaced or missing.

import { createServer } from "node:http";
import { readFile, realpath, stat } from "node:fs/promises";
import { extname, join, resolve, sep } from "node:path";

/** Media types by file ending, as the project's own server gives them. */
const TYPES = new Map([
    [".html", "text/html; charset=utf-8"],
    [".css", "text/css; charset=utf-8"],
    [".js", "text/javascript; charset=utf-8"],
    [".mjs", "text/javascript; charset=utf-8"],
    [".json", "application/json; charset=utf-8"],
    [".webmanifest", "application/json; charset=utf-8"],
    [".wasm", "application/wasm"],
    [".svg", "image/svg+xml"],
    [".png", "image/png"],
    [".csv", "text/csv; charset=utf-8"],
]);

/**
 * The file inside `folder` that a request's path names, or null.
 *
 * @param {string} folder an absolute, real path
 * @param {string} path the request's path, percent-encoded, without the query
 * @returns {Promise<string | null>}
 */
export async function fileInside(folder, path) {
    try {
        const plain = decodeURIComponent(path);
        if (plain.includes("\0") || plain.split(/[/\\]/).includes("..")) return null;
        let file = join(folder, plain);
        if ((await stat(file)).isDirectory()) file = join(file, "index.html");
        const real = await realpath(file);
        return real === folder || real.startsWith(folder + sep) ? real : null;
    } catch {
        return null;
    }
}

/**
 * Serves a folder until closed.
 *
 * @param {string} folder
 * @param {object} [options]
 * @param {string} [options.under] the path in front, such as "/x/y/"; "/" unless given
 * @param {Record<string, string>} [options.types] media types by ending that replace the right ones
 * @param {Record<string, { status?: number, type?: string, body: string | Uint8Array }>} [options.instead]
 *     answers by path below `under`, in place of the file
 * @param {Record<string, string>} [options.headers] added to every answer
 * @returns {Promise<{ origin: string, url: string, asked: string[], silence: () => void,
 *     close: () => Promise<void> }>}
 *     `url` is the address of the folder; `asked` lists the paths requested so far; after
 *     `silence` no request is answered any more, as on a network that has hung
 */
export async function serve(folder, options = {}) {
    const under = options.under ?? "/";
    const root = await realpath(resolve(folder));
    /** @type {string[]} */
    const asked = [];
    let isSilent = false;
    const server = createServer((request, response) => {
        const path = (request.url ?? "/").split(/[?#]/)[0] ?? "/";
        asked.push(path);
        if (isSilent) return;
        answer(root, under, path, options).then(({ status, type, body }) => {
            response.writeHead(status, {
                "Content-Type": type,
                "Cache-Control": "no-cache",
                ...options.headers,
            });
            response.end(request.method === "HEAD" ? undefined : body);
        });
    });
    await new Promise((done) => server.listen(0, "127.0.0.1", () => done(undefined)));
    const address = server.address();
    const port = typeof address === "object" && address !== null ? address.port : 0;
    const origin = `http://127.0.0.1:${port}`;
    const silence = () => {
        isSilent = true;
    };
    return { origin, url: origin + under, asked, silence, close: () => closing(server) };
}

/** Ends the server and every connection that a browser keeps open. */
function closing(server) {
    server.closeAllConnections();
    return new Promise((done) => server.close(() => done(undefined)));
}

async function answer(root, under, path, options) {
    const missing = { status: 404, type: "text/plain; charset=utf-8", body: "There is no such file." };
    if (!path.startsWith(under)) return missing;
    const below = path.slice(under.length);
    const replaced = options.instead?.[below];
    if (replaced) {
        const { status = 200, type = typeOf(below, options), body } = replaced;
        return { status, type, body };
    }
    const file = await fileInside(root, below === "" ? "." : below);
    if (file === null) return missing;
    return { status: 200, type: typeOf(file, options), body: await readFile(file) };
}

function typeOf(file, options) {
    const ending = extname(file);
    return options.types?.[ending] ?? TYPES.get(ending) ?? "application/octet-stream";
}
