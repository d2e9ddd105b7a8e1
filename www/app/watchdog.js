/*
 * Says why the page does not start, where it can be told, and keeps a press of a
 * button until the page can follow it.  A plain script, so that it runs where
 * modules do not; the published page carries it inside, so that it runs where
 * nothing else arrived.
 */

(function () {
    "use strict";
    const PATIENCE_MS = 5000;
    const FLOOR = "Chrome or Edge 109, Firefox 115, or Safari 16.4 or newer";
    const isOneFile = document.getElementById("engine-code") !== null;
    const isFromFolder = location.protocol === "file:" && !isOneFile;

    function reason() {
        if (isFromFolder) {
            return "Opened straight from a folder, a browser does not let this page load its parts. If it came in a packed folder, unpack the whole of it first; then open lodelog.html, which is the same page in one file.";
        }
        if (typeof WebAssembly !== "object") {
            return "This browser has WebAssembly switched off. Switch it on, or use " + FLOOR + ".";
        }
        return "A part of this page did not arrive. Load it again; " + FLOOR + " is needed.";
    }

    function tell() {
        const notices = document.getElementById("notices");
        if (document.documentElement.hasAttribute("data-started") || notices === null) {
            return;
        }
        const notice = document.createElement("p");
        notice.className = "notice";
        notice.setAttribute("role", "alert");
        notice.textContent = "Lodelog has not started. " + reason();
        notices.appendChild(notice);
    }

    // The page presses it again once it has begun.
    document.addEventListener("click", function (event) {
        const button = event.target instanceof Element ? event.target.closest("button") : null;
        if (button !== null && !document.documentElement.hasAttribute("data-begun")) {
            document.documentElement.setAttribute("data-early", button.id);
            button.setAttribute("aria-busy", "true");
        }
    });

    // From a folder there is nothing to wait for.
    setTimeout(tell, isFromFolder ? 1000 : PATIENCE_MS);
})();
