//! Trade computations and published tables for two-way radio plans. Pure: no text, no plan, no input or output.
