//! The built plugin in a host: each test is named for the fault that it guards against.

mod alone;
mod bare_host;
mod buffers;
mod clap;
mod compare;
#[cfg(target_os = "linux")]
mod cost;
mod decks;
#[cfg(target_os = "linux")]
#[path = "../benches/direct/mod.rs"]
mod direct;
mod drum_choice;
mod fuzz;
#[cfg(target_os = "linux")]
mod hand;
mod hang;
mod hurried;
mod library;
mod lifecycle;
mod loading;
mod measuring;
mod own_channel;
#[cfg(target_os = "linux")]
mod own_process;
#[cfg(target_os = "linux")]
mod picking;
mod presets;
mod print;
#[cfg(all(target_os = "linux", target_pointer_width = "64"))]
mod real_time;
#[cfg(target_os = "linux")]
mod scaled;
#[cfg(target_os = "linux")]
mod shown;
mod side_chain;
mod signal;
mod simulated_kit;
mod simulated_take;
#[cfg(target_os = "linux")]
mod soak;
mod spot_in_print;
mod states;
#[cfg(target_arch = "x86_64")]
mod subnormal_operands;
mod this_process;
mod vst3;
#[cfg(target_os = "linux")]
mod window;
