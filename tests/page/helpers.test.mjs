// The helpers that need no browser: the static server and the PNG reader.

import assert from "node:assert/strict";
import { test } from "node:test";
import { crc32, deflateSync } from "node:zlib";
import { readPng } from "./lib/png.mjs";
import { plain } from "./lib/places.mjs";
import { fileInside, serve } from "./lib/server.mjs";
import { strangers } from "./lib/browser.mjs";

/** A PNG of one grey, put together by hand. */
function png(width, height, perMetre) {
    const word = (value) => {
        const bytes = Buffer.alloc(4);
        bytes.writeUInt32BE(value);
        return bytes;
    };
    const chunk = (name, data) => {
        const body = Buffer.concat([Buffer.from(name, "latin1"), data]);
        return Buffer.concat([word(data.length), body, word(crc32(body))]);
    };
    const header = Buffer.concat([word(width), word(height), Buffer.from([8, 0, 0, 0, 0])]);
    const physical = Buffer.concat([word(perMetre), word(perMetre), Buffer.from([1])]);
    return Buffer.concat([
        Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
        chunk("IHDR", header),
        chunk("pHYs", physical),
        chunk("IDAT", deflateSync(Buffer.alloc((width + 1) * height))),
        chunk("IEND", Buffer.alloc(0)),
    ]);
}

test("a PNG's size and its pixels per metre are read from its chunks", () => {
    // 300 dpi is 300 / 0.0254 = 11811.02 pixels per metre.
    const found = readPng(png(2008, 12, 11811));
    assert.deepEqual(found, { width: 2008, height: 12, perMetre: { x: 11811, y: 11811 } });
});

test("a PNG that is cut short, or is something else, is refused", () => {
    const whole = png(3, 3, 1);
    assert.throws(() => readPng(whole.subarray(0, whole.length - 12)), RangeError);
    assert.throws(() => readPng(Buffer.from("<svg>")), RangeError);
});

test("the static server stays inside its folder", async () => {
    assert.equal(await fileInside(plain, "../package.json"), null);
    assert.equal(await fileInside(plain, "%2e%2e/package.json"), null);
    assert.equal(await fileInside(plain, "..%5cpackage.json"), null);
    assert.equal(await fileInside(plain, "%zz"), null);
    assert.match((await fileInside(plain, ".")) ?? "", /index\.html$/);
});

test("the static server serves under a path, with the faults asked for", async () => {
    const server = await serve(plain, {
        under: "/x/y/",
        types: { ".js": "text/plain" },
        instead: { "engine.wasm": { body: "<html>" } },
    });
    try {
        const script = await fetch(`${server.url}plain.js?v=1`);
        assert.equal(script.headers.get("content-type"), "text/plain");
        const engine = await fetch(`${server.url}engine.wasm`);
        assert.equal(engine.headers.get("content-type"), "application/wasm");
        assert.equal(await engine.text(), "<html>");
        assert.equal((await fetch(`${server.origin}/plain.js`)).status, 404);
        assert.deepEqual(server.asked, ["/x/y/plain.js", "/x/y/engine.wasm", "/plain.js"]);
    } finally {
        await server.close();
    }
});

test("addresses of other origins are strangers, the page's own blobs and data are not", () => {
    const origin = "http://127.0.0.1:1";
    const own = [`${origin}/a`, `blob:${origin}/1`, "data:text/plain,x"];
    const foreign = ["http://127.0.0.1:2/a", "blob:http://127.0.0.1:2/1"];
    assert.deepEqual(strangers([...own, ...foreign], origin), foreign);
});
