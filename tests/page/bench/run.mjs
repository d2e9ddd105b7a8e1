/* Opens the bench page in Chromium and prints what its worker says, line by
   line: `node run.mjs URL`, with CHROMIUM naming the browser. */

import { chromium } from "playwright-core";

const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM,
    args: ["--no-sandbox", "--disable-background-networking", "--disable-quic", "--no-first-run"],
});
const page = await browser.newPage();
const said = new Promise((resolve) => {
    page.on("console", (message) => {
        const line = message.text();
        if (line.startsWith("{")) process.stdout.write(`${line}\n`);
        else if (line === "done") resolve(0);
        else {
            process.stderr.write(`${line}\n`);
            if (line.startsWith("failed")) resolve(1);
        }
    });
    page.on("crash", () => resolve(1));
});
await page.goto(process.argv[2]);
process.exitCode = await said;
await browser.close();
