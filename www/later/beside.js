/* Texts that lie beside the page and are asked for only when they are needed. */

import { inside, unpacked } from "../app/parts.js";

/**
 * Such a text; in the page that is one file it stands inside, packed.
 *
 * @param {string} name its path from the page, such as `pictures/why.svg`
 */
export async function readBeside(name) {
    const packed = inside(name);
    if (packed !== null) {
        return new TextDecoder().decode(await unpacked(packed));
    }
    const answer = await fetch(new URL(name, document.baseURI));
    if (!answer.ok) {
        throw new Error(`${name} did not arrive`);
    }
    return answer.text();
}
