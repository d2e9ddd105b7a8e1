// The accessibility audit: axe-core inside the page, its rules for WCAG 2.2 A and AA.
//
// Source of the rules: axe-core, at the version that package.json pins.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";

/** The success criteria asked for. */
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];

const source = readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/**
 * Audits the page as it stands.
 *
 * The script comes in through the debugging protocol, so that a strict content policy stays on.
 *
 * @param {import("playwright-core").Page} page
 * @param {string} [within] a selector; the whole page unless given
 * @returns {Promise<{ rule: string, help: string, nodes: string[] }[]>} the violations
 */
export async function audit(page, within) {
    // What is scrolled half under the bar counts as covered, and can be scrolled out again.
    await page.evaluate(() => window.scrollTo(0, 0));
    await page.evaluate(await source);
    return page.evaluate(
        async ({ tags, inside }) => {
            const options = { runOnly: { type: "tag", values: tags }, resultTypes: ["violations"] };
            const { violations } = await globalThis.axe.run(inside ?? document, options);
            return violations.map(({ id, help, nodes }) => ({
                rule: id,
                help,
                nodes: nodes.map((node) => `${node.target.join(" ")}: ${node.failureSummary}`),
            }));
        },
        { tags: TAGS, inside: within },
    );
}

/**
 * Fails with the list of violations, if there is one.
 *
 * @param {import("playwright-core").Page} page
 * @param {string} state what the page shows, for the message
 */
export async function assertAccessible(page, state) {
    const found = await audit(page);
    const lines = found.map(({ rule, help, nodes }) => `${rule}: ${help}\n  ${nodes.join("\n  ")}`);
    assert.equal(found.length, 0, `${state}:\n${lines.join("\n")}`);
}
