/* A list of the steps that can be put in, by stage. */

import { button, make } from "./dom.js";
import { replaceIfChanged } from "./remarks.js";
import { say } from "./words.js";

/** @import { View } from "./protocol.js" */

/**
 * @param {(id: string) => void} add
 * @returns {{ root: HTMLElement, update: (addable: View["addable"]) => void }}
 */
export function mountAdd(add) {
    const select = make("select", { id: "add-step" });
    const label = make("label", { for: "add-step", text: say("Another step") });
    const put = button(say("Put it in"), () => add(select.value));
    const root = make("div", { class: "row" }, label, select, put);
    return {
        root,
        update(addable) {
            const stages = [...new Set(addable.map((one) => one.stage))];
            const groups = stages.map((stage) => ({
                stage,
                steps: addable.filter((one) => one.stage === stage),
            }));
            replaceIfChanged(select, groups, ({ stage, steps }) => {
                const options = steps.map(({ id, title }) =>
                    make("option", { value: id, text: title }),
                );
                return make("optgroup", { label: say(stage) }, ...options);
            });
            root.hidden = addable.length === 0;
        },
    };
}
