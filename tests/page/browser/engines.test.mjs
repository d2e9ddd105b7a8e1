// The main journey in every engine that browsers are built on: each shows and saves what Chromium
// does, to the letter, and what the native replay prints.

import assert from "node:assert/strict";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { handsIn } from "../lib/hands.mjs";
import { mainJourney } from "../lib/main-journey.mjs";
import { demoData, www } from "../lib/places.mjs";
import { replay } from "../lib/read.mjs";
import { serve } from "../lib/server.mjs";

const LOGS = ["tern-skerry-10-days.csv", "tern-skerry-turning.csv"].map((name) => join(demoData, name));

let server;
let chromium;

/** Journeys that WebKit may have. */
const JOURNEYS = 2;

/**
 * The journey in one engine.  WebKit 2.50 goes on wrongly, now and then, when it changes to quicker
 * code inside a loop of the engine; the published build has no loops of the form on which that was
 * common (crates/xtask/src/loops.rs).  Should it come once more, it is printed, and the journey is
 * begun anew; what that shows must be the same.
 */
async function journeyIn(name) {
    for (let journey = 1; ; journey += 1) {
        const hands = await handsIn(name);
        try {
            return await mainJourney(hands, server.url, LOGS);
        } catch (error) {
            if (journey === JOURNEYS || name !== "WebKit") throw error;
            console.log(`    ${name}, journey ${journey}: ${error}`);
        } finally {
            await hands.close();
        }
    }
}

before(async () => {
    server = await serve(www);
    chromium = await journeyIn("Chromium");
});
after(() => server.close());

for (const name of ["Firefox", "WebKit"]) {
    test(`the main journey in ${name} shows and saves what it does in Chromium`, async () => {
        const began = Date.now();
        const told = await journeyIn(name);
        console.log(`    ${name}: ${((Date.now() - began) / 1000).toFixed(1)} s`);
        assert.deepEqual(told.complained, []);
        assert.deepEqual(told.own.complained, []);
        assert.ok(told.isRedrawn, "the plate stayed as it was");
        assert.deepEqual(told, chromium);
    });
}

test("the journey's edit changes what stands, its link brings it back, and its files are whole", () => {
    const { shown, edited, reopened, files, own } = chromium;
    assert.ok(shown.results.length > 40 && shown.remarks.length > 10, "hardly a result");
    assert.notDeepEqual(edited, shown);
    assert.deepEqual(reopened, edited);
    assert.match(files["Save the figure as SVG"], /^<(\?xml|svg)[^]*<text/);
    assert.match(files["Save the numbers of the figure as CSV"], /^#/);
    assert.match(files["Save the hand-in"], /^<!doctype html>[^]*\b[0-9a-f]{64}\b/i);
    assert.ok(own.processed.split("\n").length > 2000, `the own log's data: ${own.processed.length}`);
});

test("the own log's remarks and data are those of the native replay", async () => {
    const folder = await mkdtemp(join(tmpdir(), "lodelog-engines-"));
    const file = join(folder, "procedure.json");
    await writeFile(file, chromium.own.procedure);
    const native = await replay(file, LOGS, folder);
    const remarks = native.steps.map(({ remark }) => remark);
    for (const [id, remark] of chromium.own.shown.remarks) {
        assert.ok(remark === "" || remarks.includes(remark), `${id}: “${remark}” is not what the replay says`);
    }
    assert.equal(chromium.own.processed, await readFile(join(folder, "processed.csv"), "utf8"));
    await rm(folder, { recursive: true, force: true });
});
