// Where the project's folders are, seen from the page's tests.

import { fileURLToPath } from "node:url";
import { join } from "node:path";

/** The project's folder. */
export const root = fileURLToPath(new URL("../../../", import.meta.url));

/** The page as it is worked on; its engine is in `pkg/` once built. */
export const www = join(root, "www");

/** The folder that is published, once built. */
export const dist = join(root, "dist", "lodelog");

/** The page in one file, once built. */
export const oneFile = join(root, "dist", "lodelog.html");

/** Both together, packed. */
export const packed = join(root, "dist", "lodelog.zip");

/** The invented logs. */
export const demoData = join(root, "demo-data");

/** Where tests put pictures and downloads to be looked at; never committed. */
export const out = join(root, "tests", "out");

/** A page of a few lines on which the helpers themselves are tried. */
export const plain = join(root, "tests", "page", "plain");
