//! Windows, filters, spectra and robust statistics over plain slices.
