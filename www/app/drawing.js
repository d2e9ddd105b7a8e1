/*
 * What the page reads from a plan and how it draws one: types only.  The
 * bytes of a plan are opaque here; the engine's own code takes them apart.
 */

/**
 * What is drawn and read from the bytes of a plan, on the page's side.
 *
 * @typedef {object} Drawing
 * @property {(canvas: HTMLCanvasElement, plan: Uint8Array, palette: string, ratio: number) => void} draw
 * @property {(language: string, texts: string, comma: boolean, iso: boolean) => void} speak
 * @property {Drawing["draw"]} draw_sheet with the line of provenance
 * @property {(plan: Uint8Array, widthMm: number, heightMm: number) => string} plan_svg
 * @property {(plan: Uint8Array) => string} plan_csv
 * @property {(csv: string, comma: boolean) => string} csv_for_spreadsheet
 * @property {(plan: Uint8Array, maxRows: number) => string} plan_table JSON of a {@link PlanTable}
 * @property {(plan: Uint8Array) => string} plan_words JSON of {@link PlanWords}
 * @property {(plan: Uint8Array) => string} plan_frame JSON of a {@link PlanFrame}
 * @property {(plan: Uint8Array, x: number, y: number) => string | undefined} readout JSON of a {@link Readout}
 * @property {(plan: Uint8Array, panel: number, stop: number) => string | undefined} readout_at_stop
 * @property {(plan: Uint8Array, panel: number) => number} stops how many stops a panel has
 * @property {(plan: Uint8Array, panel: number, xData: number) => number} stop_near
 * @property {(seconds: number, aheadMin: number) => string} local_words
 * @property {(plan: Uint8Array, x0: number, x1: number) => Float64Array} data_span
 * @property {(plan: Uint8Array, x0: number, x1: number) => string | undefined} span_words JSON of {@link SpanWords}
 * @property {(text: string) => string | undefined} qr_code JSON of a {@link Code}
 * @property {(png: Uint8Array, dpi: number) => Uint8Array} png_with_density
 */

/** @typedef {{ side: number, path: string }} Code a QR code's squares */
/** @typedef {{ caption: string, columns: string[], rows: string[][] }} PlanTable */
/** @typedef {{ name: string, caption: string, summary: string, provenance: string }} PlanWords */
/**
 * What is read at a stop of the cursor; the stops of a panel are its samples
 * as they are drawn.
 *
 * @typedef {object} Readout
 * @property {string} text
 * @property {number} panel
 * @property {number} stop
 * @property {number} x_data
 * @property {number} x_px
 * @property {number} top_px
 * @property {number} bottom_px
 */

/**
 * A span of time as it is read, and as it is typed into a slot.
 *
 * @typedef {{ text: string, value: string }} SpanWords
 */

/**
 * Where the axes stand, in pixels, and whether the figure can be zoomed.
 *
 * @typedef {object} PlanFrame
 * @property {number} left
 * @property {number} right
 * @property {number} top
 * @property {number} bottom
 * @property {"time" | "log" | "linear"} scale
 * @property {boolean} zooms
 */

export {};
