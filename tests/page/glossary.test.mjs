// The glossary's files: the same words in every language, each reachable and explained.

import assert from "node:assert/strict";
import { readFile, readdir } from "node:fs/promises";
import { test } from "node:test";
import { Glossary } from "../../www/later/glossary.js";

const folder = new URL("../../www/words/", import.meta.url);
const names = (await readdir(folder)).filter((name) => /^glossary\.[a-z]+\.json$/.test(name));
const all = await Promise.all(names.map(async (name) =>
    ({ name, told: JSON.parse(await readFile(new URL(name, folder), "utf8")) })));
const english = all.find(({ name }) => name === "glossary.en.json").told;

test("every language has the same words, in the same places, with the same further words", () => {
    assert.deepEqual(names.sort(), ["glossary.de.json", "glossary.en.json"]);
    for (const { name, told } of all) {
        assert.equal(name, `glossary.${told.language}.json`);
        const shape = ({ terms, ui }) => [terms.map(({ id, see }) => [id, see]), Object.keys(ui)];
        assert.deepEqual(shape(told), shape(english), name);
    }
});

test("every word is explained in one to three sentences, names its source, and leads only to words", () => {
    for (const { name, told } of all) {
        const ids = new Set(told.terms.map(({ id }) => id));
        assert.equal(ids.size, told.terms.length);
        for (const { id, term, forms, text, source, see } of told.terms) {
            const what = `${name}: ${id}`;
            assert.ok(term.length > 1 && forms.length > 0 && source.length > 3, what);
            const sentences = text.split(/(?<=[.?!])\s+(?=[A-ZÄÖÜ„“])/).length;
            assert.ok(sentences >= 1 && sentences <= 3, `${what}: ${sentences} sentences`);
            assert.ok(text.length >= 40 && text.length <= 330, `${what}: ${text.length} letters`);
            assert.match(text, /[.?]$/, what);
            see.forEach((other) => assert.ok(ids.has(other) && other !== id, `${what}: ${other}`));
        }
    }
});

test("no written form leads to two words", () => {
    for (const { name, told } of all) {
        const forms = told.terms.flatMap((term) => term.forms);
        assert.equal(new Set(forms).size, forms.length, name);
    }
});

test("a word is found where it first stands, whole, the longest one first, symbols by their capitals", () => {
    const glossary = new Glossary(english);
    const found = (text) => glossary.find(text).map(({ id, at, length }) => [id, text.slice(at, at + length)]);
    assert.deepEqual(found("A turning log, then another log and a turning log."), [
        ["turning-log", "turning log"],
        ["log", "log"],
    ]);
    assert.deepEqual(found("D is declination, d is not; K8 and logger are no words."), [["declination", "D"]]);
    assert.deepEqual(found("The power spectral density in nT²/Hz"), [["psd", "power spectral density"]]);
    assert.deepEqual(found("It stood 48 nT off."), [["nanotesla", "nT"]]);
    assert.deepEqual(new Glossary(all.find(({ told }) => told.language === "de").told)
        .find("Der Tagesgang an ruhigen Tagen").map(({ id }) => id), ["daily-variation", "quiet-day"]);
});
