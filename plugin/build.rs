//! How the plugin's library is linked: on Linux it stays in memory once it is loaded.
//!
//! The window toolkit's thread may outlive the window by a moment. A host that unloads the plugin at that moment would pull
//! the code from under it.

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    if std::env::var("CARGO_CFG_TARGET_OS").as_deref() == Ok("linux") {
        println!("cargo::rustc-cdylib-link-arg=-Wl,-z,nodelete");
    }
}
