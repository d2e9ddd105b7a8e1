/*
 * Says why the page does not start, where it can be told.  A plain script, so
 * that it runs where modules do not.
 */

(function () {
    "use strict";
    const PATIENCE_MS = 5000;

    function reason() {
        if (location.protocol === "file:") {
            return "Opened straight from a folder, a browser does not let this page load its parts. Unpack the whole folder and serve it, for example with: python3 -m http.server";
        }
        if (typeof WebAssembly !== "object") {
            return "This browser has WebAssembly switched off. Switch it on, or use Chrome or Edge 109, Firefox 115, or Safari 16.4 or newer.";
        }
        return "A part of this page did not arrive. Load it again; Chrome or Edge 109, Firefox 115, or Safari 16.4 or newer is needed.";
    }

    setTimeout(function () {
        const notices = document.getElementById("notices");
        if (document.documentElement.hasAttribute("data-started") || notices === null) {
            return;
        }
        const notice = document.createElement("p");
        notice.className = "notice";
        notice.setAttribute("role", "alert");
        notice.textContent = "Lodelog has not started. " + reason();
        notices.appendChild(notice);
    }, PATIENCE_MS);
})();
