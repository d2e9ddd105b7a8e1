/*
 * Inside another page: a way out into a tab of its own, where work is kept and
 * nothing is forbidden.  The link carries the procedure along.
 */

import { make } from "./dom.js";
import { say } from "./words.js";

/**
 * @param {HTMLElement} bar
 * @param {{ link: () => Promise<string>, onChange: (act: (hasWork: boolean) => void) => void }} acts
 *     the share link of the work, and being told when the work has changed
 */
export function offerOwnTab(bar, { link, onChange }) {
    // A page that was written into its frame has no address to go to.
    if (window.top === window.self || location.protocol === "about:") {
        return;
    }
    const [bare = ""] = location.href.split("#");
    const own = make("a", {
        class: "bar__own",
        href: location.href,
        target: "_blank",
        rel: "noopener",
        text: say("Open in its own tab"),
    });
    bar.append(own);
    onChange((hasWork) => {
        const address = hasWork ? link() : Promise.resolve(bare);
        // Without a link there is still the way out.
        address.then((found) => (own.href = found)).catch(() => (own.href = bare));
    });
}
