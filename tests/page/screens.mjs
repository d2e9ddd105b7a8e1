// Photographs of every state of the page at three sizes, light and dark, into tests/out/screens, with
// a sheet for each state.  Words after the command pick states by their beginnings.

import { mkdir, rm } from "node:fs/promises";
import { join } from "node:path";
import { launch } from "./lib/browser.mjs";
import { out, www } from "./lib/places.mjs";
import { settled as drawn, sidewaysScroll } from "./lib/screens.mjs";
import { serve } from "./lib/server.mjs";
import { sheet } from "./screens/sheet.mjs";
import { STATES } from "./screens/states.mjs";

/** A classroom laptop, a phone, and the narrowest that must hold. */
const SIZES = [
    { width: 1366, height: 768 },
    { width: 390, height: 844 },
    { width: 320, height: 640 },
];
const SCHEMES = /** @type {const} */ (["light", "dark"]);

const folder = join(out, "screens");
const wanted = process.argv.slice(2);
const isWanted = (name) => wanted.length === 0 || wanted.some((beginning) => name.startsWith(beginning));

/** One state at one size, light and dark. */
async function shoot(page, name, size, options) {
    const taken = [];
    await page.setViewportSize(size);
    for (const colorScheme of SCHEMES) {
        await page.emulateMedia({ colorScheme, ...options.media });
        await drawn(page);
        await options.bring?.(page);
        await page.waitForTimeout(150);
        await drawn(page);
        const path = join(folder, `${name}-${size.width}x${size.height}-${colorScheme}.png`);
        await page.screenshot({ path, fullPage: options.whole ?? false });
        taken.push(path);
    }
    const beyond = await sidewaysScroll(page);
    if (beyond > 0) console.log(`  ${name} scrolls sideways by ${beyond} px at ${size.width} px`);
    return taken;
}

/** One state, everywhere. */
async function everywhere(page, name, options = {}) {
    if (!isWanted(name)) return 0;
    const taken = [];
    for (const size of options.sizes ?? SIZES) taken.push(...(await shoot(page, name, size, options)));
    await sheet(page.context().browser(), taken, join(folder, `sheet-${name}.png`));
    return taken.length;
}

await mkdir(folder, { recursive: true });
if (wanted.length === 0) {
    await rm(folder, { recursive: true });
    await mkdir(folder);
}
const server = await serve(www);
const browser = await launch();
let count = 0;
let failed = 0;
for (const [name, state] of Object.entries(STATES)) {
    // A state of many figures takes its names from theirs.
    if (!isWanted(name) && !wanted.some((beginning) => beginning.startsWith(`${name}-`))) continue;
    const began = Date.now();
    const before = count;
    try {
        await state({ browser, server, shoot: async (...given) => { count += await everywhere(...given); }, name });
    } catch (error) {
        failed += 1;
        console.log(`  ${name}: ${error}`);
    }
    console.log(`${name}: ${count - before} pictures in ${((Date.now() - began) / 1000).toFixed(1)} s`);
}
await browser.close();
await server.close();
console.log(`${count} pictures in tests/out/screens`);
process.exitCode = failed > 0 || count === 0 ? 1 : 0;
