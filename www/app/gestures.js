/*
 * The pointer over a figure.  Dragging frames a stretch, with Shift it pans;
 * one finger pans sideways and leaves the page its scrolling, two pinch; the
 * wheel zooms only with Ctrl.  All of it is told in pixels.
 */

/**
 * @typedef {object} GestureActs
 * @property {(x: number, y: number) => void} point the pointer rests here
 * @property {() => void} leave
 * @property {(x0: number, x1: number) => void} framing a stretch is being framed
 * @property {(x0: number, x1: number) => void} framed
 * @property {() => void} dropped the framing was given up
 * @property {() => void} panBegins
 * @property {(dx: number) => void} pan by how much, since it began
 * @property {(factor: number, x: number) => void} zoom
 * @property {() => void} whole
 */

/** A drag shorter than this is a click, pixels. */
const SLIP_PX = 4;

/** Follows the pointers over one element. */
class Pointers {
    /** @type {Map<number, number>} place of each finger or the mouse */
    down = new Map();
    /** @type {{ id: number, kind: "frame" | "pan", from: number } | null} */
    drag = null;
    spread = 0;

    /**
     * @param {HTMLElement} room
     * @param {GestureActs} acts
     */
    constructor(room, acts) {
        this.room = room;
        this.acts = acts;
    }

    /**
     * @param {MouseEvent} event
     * @returns {[number, number]}
     */
    place(event) {
        const box = this.room.getBoundingClientRect();
        return [event.clientX - box.left, event.clientY - box.top];
    }

    /** @param {PointerEvent} event */
    press(event) {
        if (event.button !== 0) {
            return;
        }
        const [x] = this.place(event);
        this.down.set(event.pointerId, x);
        this.room.setPointerCapture(event.pointerId);
        if (this.down.size === 2) {
            this.give();
            this.spread = this.gap();
            return;
        }
        const pans = event.shiftKey || event.pointerType === "touch";
        this.drag = { id: event.pointerId, kind: pans ? "pan" : "frame", from: x };
        if (pans) {
            this.acts.panBegins();
        }
    }

    /** @param {PointerEvent} event */
    move(event) {
        const [x, y] = this.place(event);
        this.acts.point(x, y);
        if (!this.down.has(event.pointerId)) {
            return;
        }
        this.down.set(event.pointerId, x);
        if (this.down.size === 2) {
            this.pinch();
        } else if (this.drag?.kind === "pan") {
            this.acts.pan(x - this.drag.from);
        } else if (this.drag !== null && Math.abs(x - this.drag.from) > SLIP_PX) {
            this.acts.framing(this.drag.from, x);
        }
    }

    /** @param {PointerEvent} event */
    lift(event) {
        const [x] = this.place(event);
        const drag = this.drag;
        this.down.delete(event.pointerId);
        this.drag = null;
        if (drag?.kind === "frame" && drag.id === event.pointerId) {
            if (Math.abs(x - drag.from) > SLIP_PX) {
                this.acts.framed(drag.from, x);
            } else {
                this.acts.dropped();
            }
        }
    }

    /** Gives up what was begun. */
    give() {
        if (this.drag?.kind === "frame") {
            this.acts.dropped();
        }
        this.drag = null;
    }

    gap() {
        const [a = 0, b = 0] = [...this.down.values()];
        return Math.max(Math.abs(a - b), 20);
    }

    pinch() {
        const [a = 0, b = 0] = [...this.down.values()];
        const spread = this.gap();
        const factor = spread / this.spread;
        if (factor > 1.04 || factor < 0.96) {
            this.spread = spread;
            this.acts.zoom(factor, (a + b) / 2);
        }
    }
}

/**
 * @param {HTMLElement} room
 * @param {GestureActs} acts
 */
export function followPointer(room, acts) {
    const pointers = new Pointers(room, acts);
    room.addEventListener("pointerdown", (event) => pointers.press(event));
    room.addEventListener("pointermove", (event) => pointers.move(event));
    room.addEventListener("pointerup", (event) => pointers.lift(event));
    room.addEventListener("pointercancel", (event) => {
        pointers.down.delete(event.pointerId);
        pointers.give();
    });
    room.addEventListener("pointerleave", () => acts.leave());
    room.addEventListener("dblclick", () => acts.whole());
    room.addEventListener(
        "wheel",
        (event) => {
            if (event.ctrlKey) {
                event.preventDefault();
                acts.zoom(event.deltaY < 0 ? 1.25 : 0.8, pointers.place(event)[0]);
            }
        },
        { passive: false },
    );
}
