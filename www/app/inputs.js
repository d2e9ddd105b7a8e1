/*
 * The opened logs: what each is, how it was read, and every decision of the
 * reading that can be changed.
 */

import { arrange, button, make, setAttribute, setText } from "./dom.js";
import { remarkItem, replaceIfChanged } from "./remarks.js";
import { offsetsOf, zones } from "./zone.js";
import { say } from "./words.js";

/** @import { Decision, Input, Report } from "./protocol.js" */

/**
 * @typedef {object} InputActs
 * @property {(input: number, decision: string, alternative: string) => void} choose
 * @property {(input: number) => void} close
 */

/** @type {Record<string, string>} */
const USES = {
    log: "the log",
    turning: "the turning log",
    reference: "the reference",
    joined: "joined to it",
    aside: "opened, not used",
};

/**
 * @param {HTMLElement} root
 * @param {InputActs} acts
 * @returns {{ update: (inputs: Input[]) => void }}
 */
export function mountInputs(root, acts) {
    /** @type {ReturnType<typeof mountInput>[]} */
    const mounted = [];
    return {
        update(inputs) {
            while (mounted.length < inputs.length) {
                mounted.push(mountInput(mounted.length, acts));
            }
            mounted.length = inputs.length;
            arrange(
                root,
                mounted.map((one) => one.root),
            );
            inputs.forEach((input, place) => mounted[place]?.update(input));
        },
    };
}

/**
 * @param {number} place
 * @param {InputActs} acts
 */
function mountInput(place, acts) {
    const name = make("h3", { class: "entry__name" });
    const close = button(say("Close"), () => acts.close(place));
    const head = make("div", { class: "step__head" }, name, close);
    const facts = make("p", { class: "entry__facts" });
    const questions = make("ul", { class: "decisions" });
    const warnings = make("ul", { class: "remark-list" });
    const report = mountReport(acts);
    const root = make("div", { class: "entry" }, head, facts, questions, warnings, report.root);
    return {
        root,
        /** @param {Input} input */
        update(input) {
            const use = say(USES[input.use] ?? input.use);
            setText(name, `${input.name}, ${use}`);
            setAttribute(close, "aria-label", say("Close {name}", { name: input.name }));
            setText(facts, `${input.facts}.`);
            const asked = input.report.decisions.filter((one) => one.ambiguous);
            replaceIfChanged(questions, asked, (one) => decision(one, input, acts));
            replaceIfChanged(warnings, input.report.warnings, remarkItem);
            report.update(input);
        },
    };
}

/** @param {InputActs} acts */
function mountReport(acts) {
    const prose = make("div");
    const decisions = make("ul", { class: "decisions" });
    const columns = scroller(say("Columns of the file"));
    const rejected = scroller(say("Rejected rows"));
    const summary = make("summary", { text: say("How it was read") });
    const root = make("details", { class: "reading" }, summary, prose, decisions, columns, rejected);
    return {
        root,
        /** @param {Input} input */
        update(input) {
            const { report } = input;
            replaceIfChanged(prose, report.prose, (text) => make("p", { text }));
            const settled = report.decisions.filter((one) => !one.ambiguous);
            replaceIfChanged(decisions, settled, (one) => decision(one, input, acts));
            replaceIfChanged(columns, [report.columns], columnTable);
            const isWhole = report.rejected.length === 0;
            replaceIfChanged(rejected, isWhole ? [] : [report], rejectedTable);
        },
    };
}

// A table wider than the page scrolls within itself, by keys too.
/** @param {string} name */
function scroller(name) {
    return make("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": name });
}

/**
 * A decision as its sentence, with the other readings to choose from.
 *
 * @param {Decision} given
 * @param {Input} input
 * @param {InputActs} acts
 */
function decision(given, input, acts) {
    const item = make("li", { class: given.ambiguous ? "decision is-asked" : "decision" });
    const line = make("p", { text: `${given.sentence} ` });
    item.append(line);
    if (given.alternatives.length > 1) {
        const options = given.alternatives.map(({ id, label }) =>
            make("option", { value: id, text: label, selected: id === given.chosen }),
        );
        const name = say("{sentence} Read as", { sentence: given.sentence });
        const select = make("select", { class: "slot__control", "aria-label": name }, ...options);
        const shown = given.alternatives.find(({ id }) => id === given.chosen)?.label ?? "";
        const box = make("span", { class: "slot slot--choice", "data-text": shown }, select);
        select.addEventListener("change", () => acts.choose(input.index, given.id, select.value));
        line.append(box);
    }
    if (given.typed !== null) {
        item.append(typedAnswer(given, input, acts));
    }
    item.append(make("p", { class: "entry__evidence", text: given.evidence }));
    return item;
}

/**
 * An answer that is typed; a zone can be chosen by the name of a place.
 *
 * @param {Decision} given
 * @param {Input} input
 * @param {InputActs} acts
 */
function typedAnswer({ id, sentence, typed }, input, acts) {
    const hint = typed ?? "";
    const field = make("input", {
        class: "decision__field",
        type: "text",
        "aria-label": say("{sentence} Or type {hint}", { sentence, hint }),
        autocomplete: "off",
    });
    const label = make("span", { class: "entry__evidence", text: say("or {hint}:", { hint }) });
    const use = make("button", { class: "button", text: say("Use") });
    const form = make("form", { class: "decision__typed" }, label, field, use);
    if (id === "zone") {
        const list = `zones-${input.index}`;
        field.setAttribute("list", list);
        const offer = () => {
            const options = zones().map((name) => make("option", { value: name }));
            form.append(make("datalist", { id: list }, ...options));
        };
        field.addEventListener("focus", offer, { once: true });
    }
    form.addEventListener("submit", (event) => {
        event.preventDefault();
        const text = field.value.trim();
        const answer = id === "zone" ? (offsetsOf(text, input.span) ?? text) : text;
        if (answer !== "") {
            acts.choose(input.index, id, answer);
        }
    });
    return form;
}

/** @param {string[]} names */
function headRow(names) {
    const cells = names.map((text) => make("th", { scope: "col", text }));
    return make("thead", {}, make("tr", {}, ...cells));
}

/** @param {Report["columns"]} columns */
function columnTable(columns) {
    const rows = columns.map((column) => {
        const { role, unit, values, missing, range, step, saturated, repeated, evidence } = column;
        const cells = [role, unit, values, missing, range, step, saturated, repeated, evidence];
        const first = make("th", { scope: "row", text: column.name });
        return make("tr", {}, first, ...cells.map((text) => make("td", { text })));
    });
    const names = [
        ...[say("Column"), say("Read as"), say("Unit"), say("Values"), say("Missing"), say("Range"), say("Step between values")],
        ...[say("At an end of its range"), say("Longest repeat"), say("Because")],
    ];
    const caption = make("caption", { text: say("Columns of the file") });
    return make("table", {}, caption, headRow(names), make("tbody", {}, ...rows));
}

/** @param {Report} report */
function rejectedTable({ rejected, rejected_total: total }) {
    const rows = rejected.map(({ line, text, reason }) => {
        const first = make("th", { scope: "row", text: String(line) });
        return make("tr", {}, first, make("td", { text: reason }), make("td", { text }));
    });
    const caption = make("caption", { text: say("Rejected rows, {total} in all", { total }) });
    const head = headRow([say("Line"), say("Why"), say("What stood there")]);
    return make("table", {}, caption, head, make("tbody", {}, ...rows));
}
