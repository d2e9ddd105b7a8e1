/*
 * Starts what only those need who ask why: it is fetched when they first do.
 * In the page that is one file it is there from the start, and waits as well.
 */

import { mountPictures } from "./pictures.js";
import { mountWords } from "./words.js";

mountPictures();
mountWords();
