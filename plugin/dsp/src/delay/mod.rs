//! Delays by any fraction of a sample: the sinc kernel, the delay line and its readers, and what is built of them alone.
//!
//! Promises: a whole delay is a copy bit for bit, a fraction is read within the error of `sinc_kernel`; any split of the
//! audio into blocks gives the same bits; no allocation after `new`. Called by the shell ([`align`], [`bypass`], [`spot_mix`]) and by
//! [`crate::decks`] (the line and its readers). Calls `math` and `units`; [`align::channel_shifts`] and [`spot_mix::spot_shift`] take a [`crate::plan::Plan`].

pub mod align;
pub mod bypass;
pub mod delay_line;
pub mod fir;
pub mod resting_reader;
pub mod sinc_kernel;
pub mod spot_mix;
