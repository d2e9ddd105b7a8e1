/*
 * What the student writes for the hand-in: a title, names, and answers.  It
 * goes into the hand-in and into what this machine keeps, never into a link.
 */

import { make, setText } from "./dom.js";
import { say } from "./words.js";

/**
 * @typedef {object} Written
 * @property {string} title
 * @property {string} names
 * @property {[string, string][]} answers question and answer
 */

/** Asked unless a lesson asks otherwise. */
const QUESTIONS = [
    "What did you find?",
    "How sure are you, and what makes you so?",
    "What could have disturbed the sensor?",
];

/** @returns {Written} */
function nothing() {
    return { title: "", names: "", answers: QUESTIONS.map((question) => [say(question), ""]) };
}

/**
 * @param {unknown} found
 * @returns {Written}
 */
function checked(found) {
    const { title, names, answers } = /** @type {Partial<Written>} */ (found ?? {});
    const pairs = Array.isArray(answers) ? answers : [];
    const kept = pairs.map((pair) => /** @type {[string, string]} */ ([String(pair[0]), String(pair[1])]));
    return {
        title: typeof title === "string" ? title : "",
        names: typeof names === "string" ? names : "",
        answers: kept.length > 0 ? kept : nothing().answers,
    };
}

/** The written part, and the fields in which it is written. */
export class WrittenPart {
    /** @type {Written} */
    #written = nothing();
    #fields = make("div", { class: "written" });
    /** @type {() => void} */
    onChange = () => undefined;

    constructor() {
        this.root = make("details", { class: "handin__written" }, make("summary", { text: say("Title, names and answers") }), this.#fields);
        this.#show();
    }

    /** @returns {Written} */
    get() {
        return this.#written;
    }

    /** @param {unknown} written */
    replace(written) {
        this.#written = checked(written);
        this.#show();
    }

    /** @param {string[]} questions */
    ask(questions) {
        const before = new Map(this.#written.answers);
        const answers = questions.map((question) => [question, before.get(question) ?? ""]);
        this.replace({ ...this.#written, answers });
    }

    /** The usual questions in the language now spoken, where none was answered yet. */
    retell() {
        const isAnswered = this.#written.answers.some(([, answer]) => answer !== "");
        const isUsual = this.#written.answers.length === QUESTIONS.length;
        this.replace(isAnswered || !isUsual ? this.#written : { ...this.#written, answers: nothing().answers });
    }

    forget() {
        this.replace(null);
    }

    #show() {
        const { title, names, answers } = this.#written;
        const change = (/** @type {Partial<Written>} */ part) => {
            this.#written = { ...this.#written, ...part };
            this.onChange();
        };
        const lines = [
            line(say("Title"), title, (text) => change({ title: text })),
            line(say("Names, if you hand in by name"), names, (text) => change({ names: text })),
        ];
        const texts = answers.map(([question, answer], at) =>
            area(question, answer, (text) => {
                const next = this.#written.answers.map(
                    (pair, place) => /** @type {[string, string]} */ (place === at ? [pair[0], text] : pair),
                );
                change({ answers: next });
            }),
        );
        this.#fields.replaceChildren(...lines, ...texts);
    }
}

/**
 * @param {string} label
 * @param {string} value
 * @param {(text: string) => void} onInput
 */
function line(label, value, onInput) {
    const input = make("input", { class: "field", type: "text", autocomplete: "off" });
    input.value = value;
    input.addEventListener("input", () => onInput(input.value));
    return labelled(label, input);
}

/**
 * @param {string} label
 * @param {string} value
 * @param {(text: string) => void} onInput
 */
function area(label, value, onInput) {
    const input = make("textarea", { class: "field", rows: "4" });
    input.value = value;
    input.addEventListener("input", () => onInput(input.value));
    return labelled(label, input);
}

/**
 * @param {string} label
 * @param {HTMLElement} field
 */
function labelled(label, field) {
    const words = make("span");
    setText(words, label);
    return make("label", { class: "written__field" }, words, field);
}
