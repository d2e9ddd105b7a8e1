/*
 * A slot in focus and what its step says of it stand in sight together: where
 * the remark lies below the window's edge, the page is moved up by what it
 * takes, and never so far that the slot goes under the bar.
 */

/** Room left below the remark, pixels. */
const AIR_PX = 8;

/**
 * @param {HTMLElement} step the step that holds slot and remark
 * @param {HTMLElement} remark
 */
export function keepInSight(step, remark) {
    let isPressed = false;
    const bring = (/** @type {Element} */ slot) => {
        const height = window.visualViewport?.height ?? window.innerHeight;
        const below = remark.getBoundingClientRect().bottom + AIR_PX - height;
        const bar = parseFloat(getComputedStyle(document.documentElement).scrollPaddingTop) || 0;
        const above = slot.getBoundingClientRect().top - bar;
        if (below > 0 && above > 0) {
            window.scrollBy(0, Math.min(below, above));
        }
    };
    const soon = () => {
        const slot = document.activeElement;
        if (slot?.matches(".slot__control") && step.contains(slot) && !remark.hidden) {
            bring(slot);
        }
    };
    step.addEventListener("pointerdown", () => {
        isPressed = true;
    });
    step.addEventListener("pointerup", ({ target }) => {
        isPressed = false;
        // A list that is open would be left behind.
        if (!(target instanceof HTMLSelectElement)) {
            requestAnimationFrame(soon);
        }
    });
    step.addEventListener("pointercancel", () => {
        isPressed = false;
    });
    step.addEventListener("focusin", () => {
        if (!isPressed) {
            requestAnimationFrame(soon);
        }
    });
}
