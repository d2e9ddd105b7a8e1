// The main journey from the landing to the link that opens again, told as texts, so that what one
// browser shows can be held against what another does.

import { until } from "./hands.mjs";

/** @typedef {import("./hands.mjs").Hands} Hands */

/** Everything that a student reads of the steps: remarks, results, methods. */
const read = () => {
    const texts = (selector) => [...document.querySelectorAll(selector)].map((one) => one.textContent);
    return {
        remarks: [...document.querySelectorAll(".step__remark")].map((one) => [one.id, one.textContent]),
        results: texts(".step .results dt, .step .results dd"),
        methods: texts(".handin__methods p"),
    };
};

/** Waits until the last step has run and its plate is drawn. */
async function settled(hands) {
    // Typing is sent after a short rest; only then is the plate known to be old.
    await new Promise((done) => { setTimeout(done, 500); });
    await until(hands, () => document.querySelector("#step-spectrum .results dd") !== null &&
        document.getElementById("busy")?.hidden !== false &&
        document.querySelector('.plate[data-stale="true"]') === null);
}

/** Opens an address, and waits for the page's own scripts, not only its words. */
async function opened(hands, address) {
    await hands.goTo(address);
    await until(hands, () => document.documentElement.hasAttribute("data-started"));
    await hands.run(() => {
        // Nothing is put on the disk: what would be is kept here instead.
        window.kept = [];
        window.complaints = [];
        URL.createObjectURL = (blob) => {
            window.kept.push(blob);
            return "data:,";
        };
        HTMLAnchorElement.prototype.click = () => undefined;
        for (const kind of ["error", "unhandledrejection", "securitypolicyviolation"]) {
            addEventListener(kind, (event) => {
                window.complaints.push(`${kind}: ${event.message ?? event.reason ?? event.violatedDirective}`);
            });
        }
    });
}

const complaints = (hands) => hands.run(() => window.complaints);

/** The text that a button would save. */
async function saved(hands, words) {
    const before = await hands.run(() => window.kept.length);
    await hands.run((name) => {
        const fits = (one) => one.getAttribute("aria-label") === name || one.textContent === name;
        [...document.querySelectorAll("button")].find(fits).setAttribute("data-wanted", "");
    }, words);
    await hands.click("[data-wanted]");
    await hands.run(() => document.querySelector("[data-wanted]").removeAttribute("data-wanted"));
    await until(hands, (count) => window.kept.length > count, before);
    return hands.run(() => window.kept.at(-1).text());
}

/** The plate in hand as a picture, which is told only as another or the same. */
const picture = (hands) => hands.run(() => document.querySelector(".plate canvas").toDataURL());

/** Landing, demo, and a number changed in a sentence. */
async function demo(hands, address) {
    await opened(hands, address);
    const purpose = await hands.run(() => document.querySelector(".landing__purpose").textContent.trim());
    await hands.click("#demo");
    await settled(hands);
    const shown = await hands.run(read);
    await hands.click('#step-calibrate .step__plates [data-figure="calibration"]');
    await settled(hands);
    const before = await picture(hands);
    const was = await hands.run(() => document.getElementById("step-calibrate-remark").textContent);
    await hands.type("#step-calibrate-reject", "1,5");
    await until(hands, (old) => document.getElementById("step-calibrate-remark").textContent !== old, was);
    await settled(hands);
    return { purpose, shown, edited: await hands.run(read), isRedrawn: (await picture(hands)) !== before };
}

/** What can be taken away of the work on screen, and its link opened again. */
async function away(hands) {
    const files = {};
    for (const words of ["Save the figure as SVG", "Save the numbers of the figure as CSV", "Save the hand-in"]) {
        files[words] = await saved(hands, words);
    }
    await hands.click("details.share summary");
    const link = await until(hands, () => document.querySelector(".share__link")?.textContent);
    const complained = await complaints(hands);
    await opened(hands, link);
    // The demo comes first as it is proposed, and then as the link has it.
    await until(hands, () => document.getElementById("step-calibrate-reject")?.value === "1.5");
    await settled(hands);
    return { files, link, reopened: await hands.run(read), complained };
}

/** Logs of one's own, and the numbers that come of them. */
async function own(hands, address, logs) {
    await opened(hands, address);
    await hands.choose("#picker", logs);
    await until(hands, () => document.querySelector("#step-elements .results dd") !== null);
    await settled(hands);
    return {
        shown: await hands.run(read),
        processed: await saved(hands, "Save the processed data"),
        procedure: await saved(hands, "Save the procedure"),
        complained: await complaints(hands),
    };
}

/**
 * The whole of it.
 *
 * @param {Hands} hands
 * @param {string} address of the page
 * @param {string[]} logs paths of the logs of one's own
 */
export async function mainJourney(hands, address, logs) {
    return { ...(await demo(hands, address)), ...(await away(hands)), own: await own(hands, address, logs) };
}
