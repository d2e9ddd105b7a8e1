// The engine alone in any browser that can be started with an address: a page of a few lines
// works through a log and sends home what came out, so that no driver is needed.

import assert from "node:assert/strict";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { program } from "./browser.mjs";
import { firefox, PLAIN_WEBKIT, QUIET_FIREFOX, screen, SCREEN_WORDS, started, webKit } from "./driver.mjs";
import { www } from "./places.mjs";

/** How each browser is started: its program, and the words before the address. */
export const ENGINES = {
    Chromium: async (profile) => [program(), [
        "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
        `--user-data-dir=${profile}`,
    ]],
    Firefox: async (profile) => [firefox(), ["--headless", "--no-remote", "--profile", profile]],
    WebKit: async () => [screen(), [...SCREEN_WORDS, await webKit()]],
};

const PAGE = `<!doctype html><meta charset="utf-8"><title>Lodelog</title><script type="module">
const home = (what) => fetch("/home", { method: "POST", body: JSON.stringify(what) });
try {
    const { default: init, Engine } = await import("/pkg/page.js");
    await init({ module_or_path: "/pkg/page_bg.wasm" });
    const engine = new Engine();
    engine.begin("log.csv", "{}");
    engine.push(new Uint8Array(await (await fetch("/log.csv")).arrayBuffer()));
    engine.finish();
    while (!engine.advance(() => {}));
    const processed = engine.export("processed-csv");
    const procedure = engine.export("procedure-json");
    const { languages, userAgent: agent } = navigator;
    const here = { languages, zone: Intl.DateTimeFormat().resolvedOptions().timeZone };
    await home({ agent, here, view: engine.view(), processed, procedure });
} catch (error) {
    // A panic leaves words in the build for working; the published one, and a trap, leave none.
    await home({ error: String(error), panic: globalThis.lodelogPanic ?? null, stack: error?.stack ?? null });
}
</script>`;

/** Runs that WebKit may have. */
const RUNS = 2;

/**
 * Whether the engine came to a trap in WebKit.  Version 2.50 goes on wrongly, now and then, when it
 * changes to quicker code inside a loop (crates/xtask/src/loops.rs).  What fails each time, gives
 * another answer, or fails elsewhere, fails as ever.
 *
 * @param {string} name
 * @param {string} error
 */
const isTrap = (name, error) => name === "WebKit" && /Unreachable code|Out of bounds memory/.test(error);

/**
 * Works through a log in a browser.
 *
 * Where the engine came to a trap in WebKit, that is printed, and the run begun anew.
 *
 * @param {keyof typeof ENGINES} name
 * @param {string} log path of the log
 * @param {{ variables?: Record<string, string>, preferences?: string }} [options]
 * @returns {Promise<{ agent: string, here: { languages: string[], zone: string }, view: string, processed: string, procedure: string }>}
 */
export async function workedThrough(name, log, options = {}) {
    for (let run = 1; ; run += 1) {
        const found = await runOnce(name, log, options);
        const isOurs = found.panic || !isTrap(name, found.error ?? "");
        if (run === RUNS || isOurs) {
            assert.equal(found.error, undefined, `${name}: ${found.error}\n${found.panic}\n${found.stack}`);
            return found;
        }
        console.log(`    ${name}, run ${run}: ${found.error}\n${found.stack}`);
    }
}

/** One run, whatever comes of it. */
async function runOnce(name, log, options) {
    const profile = await mkdtemp(join(tmpdir(), "lodelog-browser-"));
    await writeFile(join(profile, "user.js"), `${QUIET_FIREFOX}${options.preferences ?? ""}`);
    let arrived = (_) => {};
    const answer = new Promise((done) => {
        arrived = done;
    });
    const server = createServer(async (request, response) => {
        const path = new URL(request.url, "http://home").pathname;
        if (path === "/home") {
            const parts = [];
            for await (const part of request) parts.push(part);
            response.end();
            arrived(JSON.parse(Buffer.concat(parts).toString("utf8")));
            return;
        }
        const [type, body] = path === "/" ? ["text/html", PAGE]
            : path === "/log.csv" ? ["text/csv", await readFile(log)]
                : path.startsWith("/pkg/page") && !path.includes("..")
                    ? [path.endsWith(".wasm") ? "application/wasm" : "text/javascript", await readFile(join(www, path))]
                    : ["text/plain", null];
        response.writeHead(body === null ? 404 : 200, { "content-type": type });
        response.end(body);
    });
    await new Promise((done) => { server.listen(0, "127.0.0.1", done); });
    const [command, words] = await ENGINES[name](profile);
    const address = `http://127.0.0.1:${server.address().port}/`;
    const browser = started(command, [...words, address], { HOME: profile, ...PLAIN_WEBKIT, ...options.variables });
    const late = setTimeout(() => arrived({ error: `${name} did not answer within two minutes.` }), 120_000);
    try {
        return await answer;
    } finally {
        clearTimeout(late);
        await browser.end();
        server.close();
        server.closeAllConnections();
        await rm(profile, { recursive: true, force: true, maxRetries: 5 });
    }
}
