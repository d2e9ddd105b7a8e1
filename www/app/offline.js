/*
 * Keeps the published page for use without a network, and says so when a newer
 * version is there.  It never loads the page again by itself.
 */

import { button, make } from "./dom.js";
import { say } from "./words.js";

/** How seldom a page that stays open asks whether it is the newest, milliseconds. */
const ASK_AGAIN_MS = 3_600_000;

/**
 * Does what this browser and this address allow; where they do not, the page
 * works all the same.
 *
 * @param {HTMLElement} notices
 */
export function keepForOffline(notices) {
    keep(notices).catch(() => undefined);
}

/** @param {HTMLElement} notices */
async function keep(notices) {
    const { offline, published, version } = document.documentElement.dataset;
    // A frame without an origin of its own throws on the mere look.
    const keepers = window.isSecureContext ? navigator.serviceWorker : undefined;
    if (keepers === undefined) {
        return;
    }
    if (published === undefined) {
        await letGo(keepers);
    }
    if (offline === undefined) {
        return;
    }
    keepers.addEventListener("message", ({ data, source }) => {
        const told = data?.lodelogVersion;
        if (typeof told !== "string") {
            return;
        }
        if (told === version) {
            source?.postMessage({ lodelog: "take-over" });
        } else {
            tellOfNewer(notices);
        }
    });
    const registration = await keepers.register(new URL(offline, document.baseURI));
    registration.waiting?.postMessage({ lodelog: "which-version" });
    askNowAndThen(registration);
}

/**
 * While the page is worked on, what was once published from the same address
 * must not stand in for it.
 *
 * @param {ServiceWorkerContainer} keepers
 */
async function letGo(keepers) {
    const folder = new URL("./", document.baseURI).href;
    const registration = await keepers.getRegistration(folder);
    if (registration?.scope === folder) {
        await registration.unregister();
    }
}

/** @param {ServiceWorkerRegistration} registration */
function askNowAndThen(registration) {
    let asked = Date.now();
    document.addEventListener("visibilitychange", () => {
        if (document.visibilityState === "visible" && Date.now() - asked > ASK_AGAIN_MS) {
            asked = Date.now();
            registration.update().catch(() => undefined);
        }
    });
}

/** @param {HTMLElement} notices */
function tellOfNewer(notices) {
    const code = "page/newer-version";
    if (notices.querySelector(`[data-code="${code}"]`) !== null) {
        return;
    }
    const text = make("p", {
        class: "notice__text",
        text: say("A newer version of this page is here. The one you see goes on working."),
    });
    const notice = make("div", { class: "notice", "data-code": code }, text);
    notice.append(
        button(say("Reload when ready"), () => location.reload()),
        button(say("Dismiss"), () => notice.remove()),
    );
    notices.append(notice);
}
