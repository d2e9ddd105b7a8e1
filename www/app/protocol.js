/*
 * The words that page and worker speak: types only, nothing runs here.
 * The view's fields are written by the engine; the page shows them as they come.
 */

/**
 * What went wrong, for reading.
 *
 * @typedef {object} Fault
 * @property {string} code stable name, `stage/what`
 * @property {string} message what happened
 * @property {string} place where; empty when it is everywhere
 * @property {string} remedy what to do next
 */

/**
 * @typedef {object} Option
 * @property {string} id
 * @property {string} label
 */

/**
 * A parameter as it stands in its sentence.
 *
 * @typedef {object} Slot
 * @property {string} key
 * @property {"number" | "integer" | "choice" | "span" | "time" | "text"} kind
 * @property {string} label accessible name
 * @property {string} value raw text, as it is typed
 * @property {string} said the value as the sentence says it
 * @property {string} unit
 * @property {string} hint what is allowed
 * @property {Option[]} options of a choice
 * @property {string | null} error why the text that was typed is not used
 * @property {string | null} note how the text was read, where that could surprise
 */

/** @typedef {{ text: string, slot?: undefined } | { slot: string, text?: undefined }} Piece */

/**
 * @typedef {object} Step
 * @property {number} index
 * @property {string} id kind of step
 * @property {string} stage
 * @property {string} title
 * @property {boolean} on
 * @property {"ok" | "off" | "refused" | "waiting"} status
 * @property {boolean} removable
 * @property {boolean} up whether it can move up
 * @property {boolean} down
 * @property {Piece[]} sentence
 * @property {Slot[]} slots
 * @property {string} remark
 * @property {Fault | null} fault
 * @property {Fault[]} warnings
 * @property {{ name: string, title: string }[]} figures
 * @property {{ name: string, label: string, text: string }[]} results
 * @property {{ what: string, why: string, wrong: string, picture: string }} why
 */

/**
 * A decision that was taken while reading a log.
 *
 * @typedef {object} Decision
 * @property {string} id
 * @property {string} sentence
 * @property {string} evidence
 * @property {string} chosen
 * @property {Option[]} alternatives
 * @property {boolean} ambiguous
 * @property {string | null} typed what may be typed beside the alternatives
 */

/**
 * @typedef {object} Input
 * @property {number} index
 * @property {string} name
 * @property {string} use
 * @property {string} facts
 * @property {string | null} date first day, as 2026-05-01
 * @property {[string | null, string | null]} span first and last time, ISO 8601
 * @property {Report} report
 */

/**
 * @typedef {object} Report
 * @property {string} sha256
 * @property {string[]} prose
 * @property {Decision[]} decisions
 * @property {ColumnReport[]} columns
 * @property {{ line: number, text: string, reason: string }[]} rejected
 * @property {number} rejected_total
 * @property {Fault[]} warnings
 */

/**
 * @typedef {object} ColumnReport
 * @property {string} name
 * @property {string} role
 * @property {string} unit
 * @property {string} evidence
 * @property {string} values how many
 * @property {string} missing
 * @property {string} range
 * @property {string} step between neighbouring values, when they stand on levels
 * @property {string} saturated samples at an end of the sensor's range
 * @property {string} repeated longest run of one value
 */

/** @typedef {{ input: number, set: Record<string, string> }} Reread */

/**
 * Everything the page shows besides figures.
 *
 * @typedef {object} View
 * @property {string} version
 * @property {Input[]} inputs
 * @property {Step[]} steps
 * @property {{ id: string, title: string, stage: string }[]} addable
 * @property {string} methods
 * @property {string | null} undo what it would undo
 * @property {string | null} redo
 * @property {number} changed_after later steps that the last edit changed
 * @property {string} summary
 * @property {unknown} procedure
 * @property {Reread[]} rereads logs that an opened procedure wants read otherwise
 * @property {boolean} calibration whether there is one that can be saved
 * @property {Try[]} tries things to try on the demo log; none on any other
 */

/**
 * @typedef {object} Try
 * @property {string} step kind of step
 * @property {string} part of it: a parameter, its `switch` or its `plate`
 * @property {string} act
 * @property {string} look what to look for
 * @property {boolean} done
 */

/**
 * A change to the procedure; `step` is a place in it.
 *
 * @typedef {{ kind: "set", step: number, param: string, value: string, live: boolean }
 *     | { kind: "nudge", step: number, param: string, by: number }
 *     | { kind: "restore", step: number, param: string }
 *     | { kind: "switch", step: number, on: boolean }
 *     | { kind: "move", step: number, by: number }
 *     | { kind: "remove", step: number }
 *     | { kind: "add", id: string }
 *     | { kind: "load", procedure: unknown }
 *     | { kind: "undo" } | { kind: "redo" } | { kind: "reset" }} Edit
 */

/** @typedef {{ x: [number, number] | null, y: [number, number] | null }} Zoom */

/**
 * How a log is to be read, and what comes after.
 *
 * @typedef {object} Reading
 * @property {Record<string, string>} choices decisions that the student changed
 * @property {number | null} place which open log to read again; otherwise a new one
 * @property {boolean} more whether another log follows, so that nothing is run yet
 */

/**
 * How the engine speaks: the language, how numbers and dates look, and its
 * texts by their English as the text of a JSON object.
 *
 * @typedef {{ language: string, comma: boolean, iso: boolean, texts: string }} EngineSpeech
 */

/**
 * What the page asks of the worker.  `first` is the step whose figures are in
 * sight: its view is told before the steps after it are run.
 *
 * @typedef {{ type: "start", module: WebAssembly.Module, speech: EngineSpeech }
 *     | ({ type: "open", file: File, first?: number } & Reading)
 *     | ({ type: "demo", name: string, first?: number } & Reading)
 *     | { type: "drop", input: number, first?: number }
 *     | { type: "edit", edit: Edit, first?: number }
 *     | { type: "view", first?: number }
 *     | PlanAsk
 *     | { type: "export", what: string }
 *     | { type: "link", shown: object }
 *     | { type: "read-link", fragment: string }
 *     | { type: "hand-in", written: object }
 *     | { type: "read-hand-in", html: string }
 *     | { type: "archive", written: object, folder: string }} Ask
 */

/**
 * A figure for some room: CSS pixels, or millimetres of paper.
 *
 * @typedef {object} PlanAsk
 * @property {"plan"} type
 * @property {number} step
 * @property {string} figure
 * @property {number} width
 * @property {number} height
 * @property {Zoom} zoom
 * @property {boolean} [print] whether the room is paper
 */

/**
 * What the worker says: an answer, how far it is, the view so far, or that it
 * cannot go on.
 *
 * @typedef {{ id: number, ok: true, value: unknown }
 *     | ({ id: number, ok: false } & Fault)
 *     | { id: number, progress: number, doing: string, name: string }
 *     | { id: number, soFar: View }
 *     | { ended: string }} Said
 */

/**
 * @typedef {object} Waiting
 * @property {(value: any) => void} resolve
 * @property {(fault: Fault) => void} reject
 * @property {Hooks} hooks
 */

/**
 * What is told while an answer is awaited.
 *
 * @typedef {object} Hooks
 * @property {number} [first] the step in sight, whose view is told first
 * @property {(fraction: number, doing: string) => void} [onProgress]
 * @property {(view: View) => void} [onSoFar]
 */

export {};
