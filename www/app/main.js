/* Starts the page: the only file that does something when it is imported. */

import { App } from "./app.js";
import { follow } from "./address.js";
import { byId } from "./dom.js";
import { acceptLogs } from "./files.js";
import { offerOwnTab } from "./framed.js";
import { listenForUndo } from "./keys.js";
import { mountLanguage } from "./language.js";
import { fetchLater } from "./later.js";
import { keepForOffline } from "./offline.js";
import { mountShortcuts } from "./shortcuts.js";
import { kept, learn, retell, unlearnt } from "./words.js";

document.documentElement.setAttribute("data-started", "");
const wanted = kept();
const learnt = learn(wanted);
if (wanted.language === "en") {
    // English is learnt at once.
    begin();
} else {
    // The first view is in English; it is said again before anything is built on it.
    void learnt.then(() => retell(new Map())).then(() => begin(), () => begin(unlearnt));
}

/** @param {import("./protocol.js").Fault} [fault] what is to be told at once */
function begin(fault) {
    const app = new App();
    if (fault !== undefined) {
        app.notices.raise(fault);
    }
    acceptLogs((files) => void app.open(files));
    byId("demo", HTMLButtonElement).addEventListener("click", () => void app.demo());
    byId("undo", HTMLButtonElement).addEventListener("click", () => app.undo());
    byId("redo", HTMLButtonElement).addEventListener("click", () => app.redo());
    byId("words", HTMLButtonElement).addEventListener("click", ({ target }) => {
        /** @type {HTMLElement} */ (target).dataset.asked = "";
        fetchLater();
    });
    keepForOffline(byId("notices", HTMLElement));
    offerOwnTab(byId("bar", HTMLElement), {
        link: () => app.away.shareLink(),
        onChange: (act) =>
            app.store.subscribe((now, before) => now.whole !== before.whole && act(now.whole !== null)),
    });
    mountShortcuts();
    mountLanguage((speech) => app.speak(speech));
    listenForUndo({ undo: () => app.undo(), redo: () => app.redo() });
    void follow(app, location.hash);
    // An address that is changed by hand, or by a link on the page it is embedded in.
    addEventListener("hashchange", () => void follow(app, location.hash));
    pressEarly(document.documentElement);
}

// What was pressed before all of this was there; the watchdog kept it.
/** @param {HTMLElement} root */
function pressEarly(root) {
    root.dataset.begun = "";
    document.querySelectorAll("[aria-busy]").forEach((one) => one.removeAttribute("aria-busy"));
    document.getElementById(root.dataset.early ?? "")?.click();
}
