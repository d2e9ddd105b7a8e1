//! Calibration, elements, heading, and models of the Earth's field.
