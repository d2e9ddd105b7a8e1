// The opening that most browser tests share: the page served and Chromium started, both ended after
// the last test of the file.

import { after } from "node:test";
import { launch } from "./browser.mjs";
import { www } from "./places.mjs";
import { serve } from "./server.mjs";

/**
 * The page as it is worked on, or served otherwise, with a browser beside it.
 *
 * @param {ReturnType<typeof serve>} [serving]
 */
export async function begun(serving = serve(www)) {
    const [server, browser] = await Promise.all([serving, launch()]);
    after(async () => {
        await browser.close();
        await server.close();
    });
    return { browser, server };
}
