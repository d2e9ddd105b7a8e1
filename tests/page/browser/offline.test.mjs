// The published page without a network, and when a newer version takes its place.

import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { cp, mkdtemp, readFile, readdir, rename, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { assertQuiet, assertSameOrigin, launch, visit } from "../lib/browser.mjs";
import { demoShown, journey } from "../lib/demo.mjs";
import { dist } from "../lib/places.mjs";
import { serve } from "../lib/server.mjs";

let browser;

before(async () => {
    browser = await launch();
});
after(() => browser.close());

/** A copy of the published folder that may be changed. */
async function copy() {
    const folder = await mkdtemp(join(tmpdir(), "lodelog-site-"));
    await cp(dist, folder, { recursive: true });
    return folder;
}

/** Waits until every part is kept and the page is looked after. */
async function kept(page) {
    await page.waitForFunction(() => navigator.serviceWorker.controller !== null, undefined, {
        timeout: 20_000,
    });
}

/** The version that a page says it is. */
const versionOf = (page) => page.evaluate(() => document.documentElement.dataset.version);

test("P04 after the first load the network goes, and demo, edit and exports succeed", async () => {
    const server = await serve(dist);
    const seen = await visit(browser, server.url);
    await kept(seen.page);
    await seen.context.setOffline(true);
    await server.close();
    await journey(seen.page);
    assertSameOrigin(seen, server.origin);
    assertQuiet(seen);
    await seen.close();
});

test("P44 after the first visit the page loads without a network, at any path", async () => {
    const server = await serve(dist, { under: "/x/y/" });
    const seen = await visit(browser, server.url);
    await kept(seen.page);
    await seen.context.setOffline(true);
    await server.close();
    const answer = await seen.page.reload();
    assert.equal(answer.status(), 200);
    assert.ok(answer.fromServiceWorker());
    await journey(seen.page);
    await seen.page.goto(`${server.url}index.html#demo`);
    await demoShown(seen.page);
    assertSameOrigin(seen, server.origin);
    await seen.close();
});

/** Turns a copy into another version, as publishing anew would: other names, other hashes. */
async function publishAnew(folder, mark) {
    const names = await readdir(folder);
    const old = names.find((name) => name.startsWith("app-"));
    const script = `${await readFile(join(folder, old), "utf8")}\n// ${mark}\n`;
    const hash = createHash("sha256").update(script);
    const name = `app-${hash.copy().digest("hex").slice(0, 12)}.js`;
    await writeFile(join(folder, old), script);
    await rename(join(folder, old), join(folder, name));
    const change = async (file, turn) =>
        writeFile(join(folder, file), turn(await readFile(join(folder, file), "utf8")));
    const version = createHash("sha256").update(mark).digest("hex").slice(0, 12);
    await change("index.html", (html) =>
        html.replace(old, name).replace(/data-version="[^"]*"/, `data-version="${version}"`));
    await change("sw.js", (text) =>
        text
            .replace(/const VERSION = "[^"]*"/, `const VERSION = "${version}"`)
            .replace(new RegExp(`"${old}": "[^"]*"`), `"${name}": "sha256-${hash.digest("base64")}"`));
    return version;
}

/** Looks for a newer version, as the browser does at a visit. */
const lookForNewer = (page) =>
    page.evaluate(async () => {
        const registration = await navigator.serviceWorker.getRegistration();
        await registration.update().catch(() => undefined);
    });

const LINE = '[data-code="page/newer-version"]';

test("P44 a newer version shows a line, loads nothing by itself, and comes whole when asked", async () => {
    const folder = await copy();
    const server = await serve(folder);
    const seen = await visit(browser, `${server.url}#demo`);
    const { page } = seen;
    await demoShown(page);
    await kept(page);
    const first = await versionOf(page);
    const parts = new Set(await readdir(folder));
    await page.evaluate(() => {
        window.untouched = true;
    });
    const second = await publishAnew(folder, "second");
    await lookForNewer(page);
    await page.locator(LINE).waitFor();
    assert.match(await page.locator(LINE).textContent(), /newer version.*Reload when ready/);
    // Work goes on with the parts of the first version, a new worker included.
    await page.waitForTimeout(1500);
    assert.equal(await page.evaluate(() => window.untouched), true);
    assert.equal(await versionOf(page), first);
    assert.ok(await page.locator("#step-spectrum").isVisible());

    const before = seen.requests.length;
    await page.getByRole("button", { name: "Reload when ready" }).click();
    await page.waitForFunction((wanted) => document.documentElement.dataset.version === wanted, second);
    await demoShown(page);
    const names = seen.requests.slice(before).map((address) => new URL(address).pathname.slice(1));
    const now = new Set(await readdir(folder));
    const stale = names.filter((name) => parts.has(name) && !now.has(name));
    assert.deepEqual(stale, [], "a part of the first version was loaded by the second");

    // The newer one is whole without a network as well, and says nothing more.
    await page.waitForFunction(async () => {
        const registration = await navigator.serviceWorker.getRegistration();
        return registration.waiting === null && registration.installing === null;
    });
    await seen.context.setOffline(true);
    await page.reload();
    await demoShown(page);
    assert.equal(await versionOf(page), second);
    assert.equal(await page.locator(LINE).count(), 0);
    assertSameOrigin(seen, server.origin);
    await seen.close();
    await server.close();
    await rm(folder, { recursive: true });
});

test("P44 a version of which one part is spoilt is not kept, and the one before stays whole", async () => {
    const folder = await copy();
    const server = await serve(folder);
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await kept(page);
    const first = await versionOf(page);
    await publishAnew(folder, "spoilt");
    const style = (await readdir(folder)).find((name) => name.startsWith("app-"));
    await writeFile(join(folder, style), "<!doctype html><title>Sign in</title>");
    await lookForNewer(page);
    await page.waitForTimeout(1000);
    assert.equal(await page.locator(LINE).count(), 0);
    const caches = await page.evaluate(() => window.caches.keys());
    assert.deepEqual(caches.filter((name) => !name.endsWith(first)), []);
    await seen.context.setOffline(true);
    await page.reload();
    assert.equal(await versionOf(page), first);
    await page.click("#demo");
    await demoShown(page);
    await seen.close();
    await server.close();
    await rm(folder, { recursive: true });
});

test("P44 a network that says nothing for 3 s is not waited for", async () => {
    const folder = await copy();
    const server = await serve(folder);
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await kept(page);
    server.silence();
    const begin = performance.now();
    const answer = await page.reload();
    const took = performance.now() - begin;
    assert.ok(answer.fromServiceWorker());
    assert.ok(took >= 3000 && took < 8000, `${took} ms`);
    await page.click("#demo");
    await demoShown(page);
    await seen.close();
    await server.close();
    await rm(folder, { recursive: true });
});

test("the page as it is worked on is never kept, and lets go of what was published there", async () => {
    const folder = await copy();
    const server = await serve(folder);
    const seen = await visit(browser, server.url);
    await kept(seen.page);
    const index = await readFile(join(folder, "index.html"), "utf8");
    // As in www/: neither published nor with a keeper.
    const worked = index.replace(/ data-published| data-offline="[^"]*"| data-version="[^"]*"/g, "");
    await writeFile(join(folder, "index.html"), worked);
    await seen.page.reload();
    await seen.page.waitForFunction(
        async () => (await navigator.serviceWorker.getRegistrations()).length === 0);
    await seen.close();
    await server.close();
    await rm(folder, { recursive: true });
});
