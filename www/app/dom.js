/*
 * Elements, typed and checked.  Text goes in as text: a log's header or a
 * file's name is a stranger's and is never read as markup.
 */

/**
 * The element of an id that the page is known to have.
 *
 * @template {HTMLElement} T
 * @param {string} id
 * @param {new () => T} kind
 * @returns {T}
 */
export function byId(id, kind) {
    const found = document.getElementById(id);
    if (!(found instanceof kind)) {
        throw new Error(`The page has no ${kind.name} called ${id}.`);
    }
    return found;
}

/** @typedef {string | boolean | number | null | undefined} Given */

/**
 * A new element with attributes and children; `false`, `null` and `undefined`
 * leave an attribute out, `text` is its text.
 *
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} name
 * @param {Record<string, Given>} [given]
 * @param {...(Node | string)} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function make(name, given = {}, ...children) {
    const element = document.createElement(name);
    for (const [key, value] of Object.entries(given)) {
        if (key === "text") {
            element.textContent = String(value ?? "");
        } else {
            setAttribute(element, key, value);
        }
    }
    element.append(...children);
    return element;
}

/**
 * @param {Element} element
 * @param {string} key
 * @param {Given} value
 */
export function setAttribute(element, key, value) {
    if (value === false || value === null || value === undefined) {
        if (element.hasAttribute(key)) {
            element.removeAttribute(key);
        }
        return;
    }
    const text = value === true ? "" : String(value);
    if (element.getAttribute(key) !== text) {
        element.setAttribute(key, text);
    }
}

/**
 * Writes a text only where it differs, so that nothing is read out twice.
 *
 * @param {Node} node
 * @param {string} text
 */
export function setText(node, text) {
    if (node.textContent !== text) {
        node.textContent = text;
    }
}

/**
 * A button of the page.
 *
 * @param {string} text
 * @param {() => void} act
 * @param {Record<string, Given>} [given]
 */
export function button(text, act, given = {}) {
    const made = make("button", { type: "button", text, ...given });
    made.addEventListener("click", act);
    return made;
}

/**
 * Brings the children of a list into the order of `wanted` with as few moves
 * as it takes, so that focus stays where it is.
 *
 * @param {Element} parent
 * @param {Element[]} wanted
 */
export function arrange(parent, wanted) {
    for (const child of [...parent.children]) {
        if (!wanted.includes(child)) {
            child.remove();
        }
    }
    wanted.forEach((child, place) => {
        const there = parent.children[place];
        if (there !== child) {
            keepFocus(child, () => parent.insertBefore(child, there ?? null));
        }
    });
}

/**
 * Moves an element and gives the focus back to what had it inside.
 *
 * @param {Element} element
 * @param {() => void} move
 */
export function keepFocus(element, move) {
    const focused = document.activeElement;
    move();
    if (focused instanceof HTMLElement && element.contains(focused)) {
        focused.focus({ preventScroll: true });
    }
}
