// Firefox and WebKit driven by the commands of WebDriver (W3C, "WebDriver", 2018): WebKit over HTTP
// through its driver, Firefox over the socket that it opens itself, which knows the same commands.

import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdtemp, readFile, readdir, rm, writeFile } from "node:fs/promises";
import { connect, createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";

/** How long a command may take, and how long a browser may take to come up, milliseconds. */
const LATE_MS = 180_000;
const START_MS = 60_000;

/** Each command: its method and path over HTTP, its name on Firefox's socket. */
const COMMANDS = {
    goTo: ["POST", "/url", "WebDriver:Navigate"],
    size: ["POST", "/window/rect", "WebDriver:SetWindowRect"],
    find: ["POST", "/element", "WebDriver:FindElement"],
    click: ["POST", "/element/{id}/click", "WebDriver:ElementClick"],
    clear: ["POST", "/element/{id}/clear", "WebDriver:ElementClear"],
    keys: ["POST", "/element/{id}/value", "WebDriver:ElementSendKeys"],
    script: ["POST", "/execute/async", "WebDriver:ExecuteAsyncScript"],
    timeouts: ["POST", "/timeouts", "WebDriver:SetTimeouts"],
    end: ["DELETE", "", "WebDriver:DeleteSession"],
};

/**
 * A program that a variable may name.
 *
 * @param {string} variable
 * @param {string} name as people call it
 * @param {(string | undefined)[]} usual where it stands otherwise
 */
function programOf(variable, name, usual) {
    const found = process.env[variable] ?? usual.find((path) => path !== undefined && existsSync(path));
    assert.ok(found, `No ${name}: install it, or let ${variable} name its program.`);
    return found;
}

/** Firefox's program. */
export const firefox = () => programOf("FIREFOX", "Firefox", ["/usr/bin/firefox-esr", "/usr/bin/firefox"]);

/** A screen that exists in memory only, which begins what comes after its words. */
export const screen = () => programOf("XVFB_RUN", "screen in memory", ["/usr/bin/xvfb-run"]);
export const SCREEN_WORDS = ["-a", "-s", "-screen 0 1600x1200x24"];

/** WebKit's driver, and the small browser that comes along with it, which stands in a folder of the machine's kind. */
const webKitDriver = () => programOf("WEBKIT_DRIVER", "driver of WebKit", ["/usr/bin/WebKitWebDriver"]);
export async function webKit() {
    const folders = (await readdir("/usr/lib")).filter((name) => name.endsWith("-linux-gnu"));
    const places = folders.map((name) => `/usr/lib/${name}/webkit2gtk-4.1/MiniBrowser`);
    return programOf("WEBKIT", "WebKit", places);
}

/** What WebKit needs where there is no graphics card. */
export const PLAIN_WEBKIT = { WEBKIT_DISABLE_COMPOSITING_MODE: "1" };

/**
 * The variables under which WebKit speaks a language, which it takes from those installed: the
 * C library's own compiler makes the language in a folder, so that nothing has to be installed.
 *
 * @param {string} folder
 * @param {string} language such as `de-DE`
 * @returns {Record<string, string>}
 */
export function inLanguage(folder, language) {
    const name = `${language.replace("-", "_")}.UTF-8`;
    const words = ["-i", language.replace("-", "_"), "-f", "UTF-8", join(folder, name)];
    execFileSync(programOf("LOCALEDEF", "compiler of languages", ["/usr/bin/localedef"]), words, { stdio: "pipe" });
    return { LOCPATH: folder, LANG: name, LC_ALL: name, LANGUAGE: language.replace("-", "_") };
}

/** What keeps Firefox quiet: no first-run page, no updates, nothing asked of anybody. */
export const QUIET_FIREFOX = [
    "datareporting.policy.dataSubmissionEnabled", "app.update.enabled", "browser.shell.checkDefaultBrowser",
    "network.captive-portal-service.enabled", "network.connectivity-service.enabled",
].map((key) => `user_pref("${key}", false);\n`).join("");

/**
 * @typedef {object} Driver
 * @property {(name: keyof typeof COMMANDS, values?: object) => Promise<any>} command
 * @property {() => Promise<void>} close
 */

/**
 * Starts a program, and ends it with all that it started.
 *
 * @param {string} program
 * @param {string[]} words
 * @param {Record<string, string>} variables
 */
export function started(program, words, variables) {
    // A group of its own, so that the browser's own children end with it.
    const child = spawn(program, words, { stdio: "ignore", detached: true, env: { ...process.env, ...variables } });
    const ended = new Promise((done) => {
        child.once("exit", done);
        child.once("error", done);
    });
    const end = async () => {
        if (child.pid !== undefined && child.exitCode === null) process.kill(-child.pid);
        await ended;
    };
    return { ended, end };
}

/** Tries until it succeeds or it is too late. */
async function tried(what, attempt) {
    const until = Date.now() + START_MS;
    for (;;) {
        try {
            return await attempt();
        } catch (error) {
            if (Date.now() > until) throw new Error(`${what} did not come up: ${error}`);
            await new Promise((done) => { setTimeout(done, 100); });
        }
    }
}

/** A port that nobody listens on. */
async function freePort() {
    const server = createServer();
    await new Promise((done) => { server.listen(0, "127.0.0.1", () => done(undefined)); });
    const { port } = /** @type {import("node:net").AddressInfo} */ (server.address());
    await new Promise((done) => { server.close(done); });
    return port;
}

/**
 * Firefox, without a window.
 *
 * @param {{ variables?: Record<string, string>, preferences?: string }} [options]
 * @returns {Promise<Driver>}
 */
export async function startFirefox({ variables = {}, preferences = "" } = {}) {
    const profile = await mkdtemp(join(tmpdir(), "lodelog-firefox-"));
    await writeFile(join(profile, "user.js"), `${QUIET_FIREFOX}user_pref("marionette.port", 0);\n${preferences}`);
    const words = ["--marionette", "--headless", "--no-remote", "--profile", profile];
    const browser = started(firefox(), words, { HOME: profile, ...variables });
    // Firefox writes there which port it took.
    const port = await tried("Firefox", async () => Number(await readFile(join(profile, "MarionetteActivePort"), "utf8")));
    const socket = await tried("Firefox", () => speaking(port));
    const { capabilities } = await socket.ask("WebDriver:NewSession", { acceptInsecureCerts: false });
    const command = (name, { id, ...values } = {}) => socket.ask(COMMANDS[name][2], id === undefined ? values : { id, ...values });
    const close = async () => {
        socket.end();
        await browser.end();
        await rm(profile, { recursive: true, force: true, maxRetries: 5 });
    };
    assert.match(capabilities.browserName, /firefox/i);
    return { command: unwrapping(command), close };
}

/** Commands' answers as they are over HTTP: without the wrapping that Firefox puts around a value. */
const unwrapping = (command) => async (name, values) => {
    const answer = await command(name, values);
    return answer !== null && typeof answer === "object" && "value" in answer ? answer.value : answer;
};

/** A socket of Firefox: each message is its length, a colon, and JSON `[0, id, name, values]` or `[1, id, error, value]`. */
async function speaking(port) {
    const socket = connect(port, "127.0.0.1");
    /** @type {Map<number, { done: (value: any) => void, fail: (error: Error) => void }>} */
    const waiting = new Map();
    let pending = Buffer.alloc(0);
    let asked = 0;
    const greeted = new Promise((done, fail) => {
        waiting.set(-1, { done, fail });
    });
    const arrived = (message) => {
        const [, id, error, value] = Array.isArray(message) ? message : [1, -1, null, message];
        const one = waiting.get(id);
        waiting.delete(id);
        if (error) one?.fail(new Error(`${error.error}: ${error.message}`));
        else one?.done(value);
    };
    socket.on("data", (part) => {
        pending = Buffer.concat([pending, part]);
        for (;;) {
            const colon = pending.indexOf(":");
            const length = Number(pending.toString("latin1", 0, Math.max(colon, 0)));
            if (colon < 0 || pending.length < colon + 1 + length) return;
            const text = pending.toString("utf8", colon + 1, colon + 1 + length);
            pending = pending.subarray(colon + 1 + length);
            arrived(JSON.parse(text));
        }
    });
    const lost = (error) => {
        for (const { fail } of waiting.values()) fail(error ?? new Error("Firefox closed its socket."));
        waiting.clear();
    };
    socket.on("error", lost);
    socket.on("close", () => lost(null));
    await greeted;
    const ask = (name, values) => new Promise((done, fail) => {
        asked += 1;
        waiting.set(asked, { done, fail });
        const text = JSON.stringify([0, asked, name, values]);
        socket.write(`${Buffer.byteLength(text)}:${text}`);
    });
    return { ask, end: () => socket.destroy() };
}

/**
 * WebKit, in the small browser of its port to GTK, on a screen that exists in memory only.
 *
 * @param {{ variables?: Record<string, string> }} [options]
 * @returns {Promise<Driver>}
 */
export async function startWebKit({ variables = {} } = {}) {
    const home = await mkdtemp(join(tmpdir(), "lodelog-webkit-"));
    const port = await freePort();
    const words = [...SCREEN_WORDS, webKitDriver(), `--port=${port}`];
    const driver = started(screen(), words, { HOME: home, ...PLAIN_WEBKIT, ...variables });
    const address = `http://127.0.0.1:${port}`;
    await tried("WebKit's driver", () => asked(address, "GET", "/status"));
    const browserOptions = { binary: await webKit(), args: ["--automation"] };
    const wanted = { capabilities: { alwaysMatch: { "webkitgtk:browserOptions": browserOptions } } };
    const { sessionId } = await asked(address, "POST", "/session", wanted);
    const command = (name, { id, ...values } = {}) => {
        const [method, path] = COMMANDS[name];
        return asked(`${address}/session/${sessionId}`, method, path.replace("{id}", id), values);
    };
    const close = async () => {
        await command("end").catch(() => undefined);
        await driver.end();
        await rm(home, { recursive: true, force: true, maxRetries: 5 });
    };
    return { command, close };
}

/** One command over HTTP. */
async function asked(address, method, path, values) {
    const body = method === "POST" ? JSON.stringify(values ?? {}) : undefined;
    const answer = await fetch(address + path, { method, body, signal: AbortSignal.timeout(LATE_MS) });
    const { value } = await answer.json();
    if (!answer.ok) throw new Error(`${path}: ${value.error}: ${value.message}`);
    return value;
}
