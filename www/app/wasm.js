/*
 * Gets the engine's code once, for the page and for the worker, and says in
 * words what stands in the way when it cannot.
 */

import { engineAddress, engineInside } from "./parts.js";
import { say } from "./words.js";

/** @import { Fault } from "./protocol.js" */

/**
 * @param {string} code
 * @param {string} message
 * @param {string} remedy
 * @returns {Fault}
 */
function fault(code, message, remedy) {
    return { code, message, place: "", remedy };
}

/**
 * The compiled engine.
 *
 * @param {typeof fetch} [get]
 * @returns {Promise<WebAssembly.Module>}
 * @throws {Fault}
 */
export async function compileEngine(get = (url) => fetch(url)) {
    if (typeof WebAssembly !== "object") {
        throw fault(
            "page/wasm-absent",
            "This browser has WebAssembly switched off, and the engine needs it.",
            "Switch it on, or use Chrome or Edge 109, Firefox 115, or Safari 16.4 or newer.",
        );
    }
    const bytes = await (engineInside() ?? fetchEngine(get));
    try {
        return await WebAssembly.compile(bytes);
    } catch (error) {
        throw explainRefusal(error);
    }
}

/**
 * The bytes, whatever content type the server gives them.
 *
 * @param {typeof fetch} get
 */
async function fetchEngine(get) {
    const remedy = "Load the page again. If it stays so, copy the whole folder to the server anew.";
    const address = engineAddress();
    let response;
    try {
        response = await get(address);
    } catch {
        throw unreached(remedy);
    }
    if (!response.ok) {
        const name = address.pathname.split("/").pop();
        const said = say("The server answered {status} when asked for {name}.", { status: response.status, name: name ?? "" });
        throw fault("page/wasm-missing", said, remedy);
    }
    const bytes = await response.arrayBuffer();
    const start = new Uint8Array(bytes, 0, Math.min(4, bytes.byteLength));
    if (start[0] !== 0 || start[1] !== 0x61) {
        const isPage = start[0] === 0x3c;
        throw fault(
            "page/wasm-replaced",
            isPage
                ? "A web page came in place of the engine: a filter or a sign-in page stands between."
                : "What came as the engine is not the engine.",
            isPage ? "Sign in or ask for the address to be let through, then load again." : remedy,
        );
    }
    return bytes;
}

// Opened from a folder, a browser lets the page load nothing that lies beside it.
/** @param {string} remedy */
function unreached(remedy) {
    return location.protocol === "file:"
        ? fault(
              "page/wasm-unreached",
              "Opened straight from a folder, a browser does not let this page load its engine.",
              "Open lodelog.html instead: the same page in one file. It comes with the packed folder.",
          )
        : fault("page/wasm-unreached", "The engine could not be fetched.", remedy);
}

/** @param {unknown} error */
function explainRefusal(error) {
    const text = error instanceof Error ? error.message : String(error);
    if (/unsafe-eval|Content Security Policy|CSP/i.test(text)) {
        return fault(
            "page/wasm-blocked",
            "A security rule of this server does not let WebAssembly run.",
            "The server's own Content-Security-Policy needs 'wasm-unsafe-eval' in script-src.",
        );
    }
    return fault(
        "page/wasm-refused",
        say("This browser could not take the engine in: {text}", { text }),
        "Use Chrome or Edge 109, Firefox 115, or Safari 16.4 or newer.",
    );
}
