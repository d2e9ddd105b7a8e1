// What a PNG says of itself: width, height, and how many pixels it puts on a metre.
//
// Source of the layout: PNG specification, third edition (W3C), sections 5.2, 5.3, 11.2.1, 11.3.4.3.

const SIGNATURE = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];

/**
 * @param {Uint8Array} bytes
 * @returns {{ width: number, height: number, perMetre: { x: number, y: number } | null }}
 *     `perMetre` is null when the file has no `pHYs` in metres
 * @throws {RangeError} when the bytes are not a whole PNG
 */
export function readPng(bytes) {
    if (!SIGNATURE.every((byte, at) => bytes[at] === byte)) {
        throw new RangeError("These bytes do not begin as a PNG does.");
    }
    let size = null;
    let perMetre = null;
    for (const { name, data } of chunks(bytes)) {
        if (name === "IHDR") size = { width: data.getUint32(0), height: data.getUint32(4) };
        if (name === "pHYs" && data.getUint8(8) === 1) {
            perMetre = { x: data.getUint32(0), y: data.getUint32(4) };
        }
        if (name === "IEND" && size) return { ...size, perMetre };
    }
    throw new RangeError("The PNG ends before its last chunk.");
}

/** The chunks in order, each with its name and its data, as far as they are whole. */
function* chunks(bytes) {
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    let at = SIGNATURE.length;
    while (at + 12 <= bytes.length) {
        const length = view.getUint32(at);
        if (at + 12 + length > bytes.length) return;
        const name = String.fromCharCode(...bytes.subarray(at + 4, at + 8));
        yield { name, data: new DataView(bytes.buffer, bytes.byteOffset + at + 8, length) };
        at += 12 + length;
    }
}
