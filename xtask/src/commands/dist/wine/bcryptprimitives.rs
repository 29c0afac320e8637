//! Random bytes as Windows 10 gives them out, for a Wine that is older: every program of Rust asks for this library.
//!
//! Compiled into a library of that name, in the Windows folder of the check alone. The plugin's archive has none of it.

#![no_std]

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    loop {}
}

#[link(name = "advapi32")]
unsafe extern "system" {
    /// `RtlGenRandom`, which every Wine has.
    #[link_name = "SystemFunction036"]
    fn random(buffer: *mut u8, length: u32) -> u8;
}

/// Fills the buffer.
///
/// # Safety
///
/// The buffer can be written as far as its length.
#[unsafe(no_mangle)]
pub unsafe extern "system" fn ProcessPrng(buffer: *mut u8, length: usize) -> i32 {
    // SAFETY: as promised by the caller. Nobody asks for more than a few bytes.
    i32::from(unsafe { random(buffer, length as u32) })
}
