/* Fetches the script that only those need who ask why, when they first do. */

/** @type {HTMLScriptElement | null} */
let script = null;

/** Once is enough; where it did not arrive, the next asking tries again. */
export function fetchLater() {
    const { later, published } = document.documentElement.dataset;
    if (later === undefined || script !== null) {
        return;
    }
    script = document.createElement("script");
    script.type = published === undefined ? "module" : "";
    script.src = new URL(later, document.baseURI).href;
    script.addEventListener("error", () => {
        script?.remove();
        script = null;
    });
    document.head.append(script);
}
