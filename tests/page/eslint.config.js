// Habits of the page's scripts.  Run from the project's folder, or `www` counts as outside:
// tests/page/node_modules/.bin/eslint --config tests/page/eslint.config.js www tests/page

/** Names that both sides of the page know. */
const EVERYWHERE = [
    "AbortController", "AbortSignal", "Blob", "CompressionStream", "DOMException",
    "DecompressionStream", "Event", "EventTarget", "File", "FileReader", "Headers", "ImageData",
    "Intl", "MessageChannel", "Request", "Response", "ReadableStream", "TextDecoder",
    "TextEncoder", "TransformStream", "URL", "URLSearchParams", "WebAssembly", "WritableStream",
    "atob", "btoa", "clearInterval", "clearTimeout", "console", "crypto", "fetch", "indexedDB",
    "navigator", "performance", "queueMicrotask", "setInterval", "setTimeout", "structuredClone",
];

/** Names that only the page knows. */
const PAGE = [
    "CSS", "ClipboardEvent", "ClipboardItem", "CustomEvent", "DOMParser", "DOMRect",
    "DataTransfer", "DragEvent", "Element", "FormData", "HTMLAnchorElement", "HTMLButtonElement", "HTMLCanvasElement",
    "HTMLDetailsElement", "HTMLElement", "HTMLInputElement", "HTMLOListElement",
    "HTMLOptionElement", "HTMLOutputElement", "HTMLProgressElement", "HTMLSelectElement",
    "HTMLTableElement", "HTMLTextAreaElement", "Highlight", "Image", "IntersectionObserver", "KeyboardEvent",
    "MouseEvent", "MutationObserver", "Node", "NodeFilter", "PointerEvent", "ResizeObserver", "SVGElement",
    "WheelEvent", "Worker", "addEventListener", "cancelAnimationFrame", "caches",
    "devicePixelRatio", "document", "getComputedStyle", "getSelection", "history", "localStorage", "location",
    "matchMedia", "requestAnimationFrame", "requestIdleCallback", "scrollTo", "sessionStorage",
    "window",
];

/** Names that only a worker knows. */
const WORKER = [
    "FileReaderSync", "addEventListener", "caches", "close", "importScripts", "location",
    "onmessage", "postMessage", "self",
];

/** Names that only node knows. */
const NODE = ["Buffer", "process"];

const named = (...lists) => Object.fromEntries(lists.flat().map((name) => [name, "readonly"]));

const markup = (name) => ({
    selector: `AssignmentExpression[left.property.name='${name}']`,
    message: "A log's header is a stranger's text: make elements and set textContent.",
});

const HABITS = {
    "no-undef": "error",
    "no-unused-vars": ["error", { argsIgnorePattern: "^_", caughtErrorsIgnorePattern: "^_" }],
    "eqeqeq": "error",
    "prefer-const": "error",
    "no-var": "error",
    "no-eval": "error",
    "no-implied-eval": "error",
    "no-new-func": "error",
    "no-script-url": "error",
    "no-shadow": "error",
    "no-param-reassign": "error",
    "no-throw-literal": "error",
    "no-fallthrough": "error",
    "no-unreachable": "error",
    "no-dupe-keys": "error",
    "no-const-assign": "error",
    "no-self-assign": "error",
    "no-unsafe-finally": "error",
    "use-isnan": "error",
    "valid-typeof": "error",
    "max-lines": ["error", { max: 300 }],
    "max-lines-per-function": ["error", { max: 60 }],
    "complexity": ["error", { max: 12 }],
    "no-restricted-syntax": [
        "error",
        markup("innerHTML"),
        markup("outerHTML"),
        {
            selector: "CallExpression[callee.property.name=/^(insertAdjacentHTML|write|writeln)$/]" +
                "[callee.object.name='document'], " +
                "CallExpression[callee.property.name='insertAdjacentHTML']",
            message: "A log's header is a stranger's text: make elements and set textContent.",
        },
    ],
};

/** The browsers of the floor: Chrome 109, Firefox 115, Safari 16.4 (top-level await left out). */
const modules = (globals, extra = {}) => ({
    languageOptions: { ecmaVersion: 2022, sourceType: "module", globals: named(EVERYWHERE, globals) },
    rules: { ...HABITS, ...extra },
});

/** What the floor's browsers lack although the syntax parses. */
const FLOOR = {
    "no-restricted-properties": [
        "error",
        ...["toSorted", "toSpliced", "toReversed", "groupBy", "fromAsync"].map((property) => ({
            property,
            message: "Not in every browser of the floor (Chrome 109, Firefox 115, Safari 16.4).",
        })),
        { object: "Promise", property: "withResolvers", message: "Newer than the floor." },
    ],
    "no-console": "error",
    "no-restricted-globals": ["error", "event", "name", "status"],
    "no-unmodified-loop-condition": "error",
};

/** What is looked at before and after may be called so, whatever the runner exports. */
const HELPERS = { "no-shadow": "off" };

/** A test file tells one story in one callback: it may be long, but not tangled. */
const TESTS = {
    ...HELPERS,
    "max-lines-per-function": "off",
    "max-lines": ["error", { max: 500 }],
};

export default [
    { ignores: ["www/pkg/**", "**/node_modules/**", "tests/out/**"] },
    { files: ["www/app/**/*.js", "www/later/**/*.js"], ...modules(PAGE, FLOOR) },
    { files: ["www/worker/**/*.js"], ...modules(WORKER, FLOOR) },
    { files: ["www/*.js"], ...modules([PAGE, WORKER].flat(), FLOOR) },
    { files: ["tests/page/lib/**/*.mjs", "tests/page/*.js"], ...modules([NODE, PAGE].flat(), HELPERS) },
    { files: ["tests/page/plain/**/*.js"], ...modules(PAGE) },
    { files: ["tests/page/**/*.test.mjs", "tests/page/*.mjs"], ...modules([NODE, PAGE].flat(), TESTS) },
];
