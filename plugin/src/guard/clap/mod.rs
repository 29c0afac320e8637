//! The CLAP that the host sees: the framework's, with activation, ports, events, parameters, window and destruction taken over.
//!
//! Promises the framework whole buffers, events in order and calls when it stands them. Called by the host through the
//! entry; calls the framework and, for latency, parameters and states, the instance and the parameters' room.

mod block;
mod entry;
mod events;
mod guarded;
mod gui;
mod params;
mod plugin;
mod port_layouts;
mod port_switches;
mod ports;
mod preset_discovery;
mod preset_load;
mod scale;
mod session;
mod song;
mod state_context;
