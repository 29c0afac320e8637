//! The audio thread makes no system call: a kernel filter notes every one that it tries, the framework inside.
//!
//! A thread that has the filter cannot take it off again, and cannot end without a system call: it runs until its process
//! ends, which is its own.

use crate::alone::alone;
use crate::direct::Direct;
use crate::library::{release, strict};
use crate::vst3::host::{Render, RenderSetup, Vst3, block, bus};
use crate::vst3::objects::{Changes, Points};
use libc::{
    BPF_ABS, BPF_JEQ, BPF_JMP, BPF_K, BPF_LD, BPF_RET, BPF_W, PR_SET_NO_NEW_PRIVS, PR_SET_SECCOMP,
    SA_SIGINFO, SECCOMP_MODE_FILTER, SECCOMP_RET_ALLOW, SECCOMP_RET_TRAP, SIGSYS, SYS_exit_group,
    SYS_rt_sigreturn, c_int, c_void, siginfo_t, sock_filter, sock_fprog,
};
use plumbline_hosting::noise;
use std::hint::spin_loop;
use std::mem::zeroed;
use std::ptr::null_mut;
use std::sync::Arc;
use std::sync::atomic::{
    AtomicBool, AtomicU32, Ordering::Acquire, Ordering::Relaxed, Ordering::Release,
};
use std::thread;
use std::time::Duration;
use vst3::ComWrapper;
use vst3::Steinberg::Vst::{IAudioProcessorTrait, IParameterChanges};

/// Tries of each system call, by its number.
static TRIED: [AtomicU32; 512] = [const { AtomicU32::new(0) }; 512];

/// Offset of the number in `siginfo_t` behind the address, in `c_int`s; from `sigaction(2)`, 64-bit systems.
const NUMBER: usize = 6;

extern "C" fn note(_signal: c_int, info: *mut siginfo_t, _context: *mut c_void) {
    // SAFETY: the kernel fills what it hands over.
    let number = unsafe { *info.cast::<c_int>().add(NUMBER) };
    if let Some(tried) = TRIED.get(number as usize) {
        tried.fetch_add(1, Relaxed);
    }
}

fn statement(code: u32, k: u32) -> sock_filter {
    sock_filter {
        code: code as u16,
        jt: 0,
        jf: 0,
        k,
    }
}

/// Allows this system call.
fn allowed(number: libc::c_long) -> [sock_filter; 2] {
    let mut test = statement(BPF_JMP | BPF_JEQ | BPF_K, number as u32);
    test.jf = 1;
    [test, statement(BPF_RET | BPF_K, SECCOMP_RET_ALLOW)]
}

/// From here on this thread's system calls are noted and not done.
fn note_system_calls() {
    let mut filter = vec![statement(BPF_LD | BPF_W | BPF_ABS, 0)];
    filter.extend(allowed(SYS_rt_sigreturn));
    filter.extend(allowed(SYS_exit_group));
    filter.push(statement(BPF_RET | BPF_K, SECCOMP_RET_TRAP));
    let program = sock_fprog {
        len: filter.len() as u16,
        filter: filter.as_mut_ptr(),
    };
    // SAFETY: plain data; the program outlives the calls.
    unsafe {
        let mut action: libc::sigaction = zeroed();
        action.sa_sigaction = note as *const () as usize;
        action.sa_flags = SA_SIGINFO;
        assert_eq!(libc::sigaction(SIGSYS, &action, null_mut()), 0);
        assert_eq!(libc::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0), 0);
        let set = libc::prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &raw const program);
        assert_eq!(set, 0, "this kernel has no filter");
    }
}

/// What the audio thread works with.
struct ForAudio<T>(T);

// SAFETY: the thread that made it does not touch it again.
unsafe impl<T> Send for ForAudio<T> {}

/// Numbers and tries of the system calls of `work` on a thread of its own, which never ends.
fn system_calls<T: 'static>(
    host: T,
    work: impl FnOnce(&mut T) + Send + 'static,
) -> Vec<(usize, u32)> {
    TRIED.iter().for_each(|tried| tried.store(0, Relaxed));
    let done = Arc::new(AtomicBool::new(false));
    let (ended, host) = (Arc::clone(&done), ForAudio(host));
    thread::spawn(move || {
        let mut host = host;
        let ForAudio(host) = &mut host;
        note_system_calls();
        work(host);
        ended.store(true, Release);
        loop {
            spin_loop();
        }
    });
    while !done.load(Acquire) {
        thread::sleep(Duration::from_millis(5));
    }
    let tried = TRIED.iter().map(|tried| tried.load(Relaxed)).enumerate();
    tried.filter(|(_, tried)| *tried > 0).collect()
}

/// Settings and automation of one case.
struct Case {
    name: &'static str,
    settings: &'static [(&'static str, f64)],
    /// Another value at every sample.
    automated: &'static [&'static str],
}

const CASES: [Case; 4] = [
    Case {
        name: "Align, measured",
        settings: &[("measure", 1.0), ("nudge_first", 0.3)],
        automated: &[],
    },
    Case {
        name: "Align, dense automation",
        settings: &[("measure", 1.0)],
        automated: &["output", "nudge_first", "bypass", "reach", "measure"],
    },
    Case {
        name: "Sweep, a song that jumps",
        settings: &[("mode", 1.0), ("motion", 1.0), ("wow", 0.1)],
        automated: &["offset", "blend", "engage", "motion", "start"],
    },
    Case {
        name: "a change of mode",
        settings: &[("measure", 1.0)],
        automated: &["mode", "monitor", "spot_level"],
    },
];

#[test]
fn a_clap_block_makes_no_system_call() {
    alone("real_time::a_clap_block_makes_no_system_call", || {
        for (build, bundle) in [("strict", strict()), ("release", release())] {
            for case in &CASES {
                let mut host = Direct::new(bundle, case.settings);
                host.automate(case.automated);
                host.roll();
                let calls = system_calls(host, |host| host.play(3_000));
                assert!(calls.is_empty(), "{build}, {}: {calls:?}", case.name);
            }
        }
    });
}

/// A VST3 and one block of its audio, prepared.
struct Prepared {
    plugin: Vst3,
    changes: ComWrapper<Changes>,
    audio: [Vec<f32>; 4],
}

const FRAMES: usize = 64;

impl Prepared {
    /// Every sample brings another value of these parameters.
    fn new(automated: &[&str]) -> Self {
        let plugin = Vst3::new();
        plugin.start_on(RenderSetup {
            render: Render::Realtime,
            sample_rate: 48_000.0,
            longest: FRAMES,
        });
        let points = (0..FRAMES as i32).map(|at| (at, f64::from(at) / FRAMES as f64));
        let points: Vec<_> = points.collect();
        let queue = |id: &&str| Points {
            id: plumbline_hosting::parameter_number(id),
            points: points.clone(),
        };
        Self {
            plugin,
            changes: ComWrapper::new(Changes::of(automated.iter().map(queue).collect())),
            audio: [1, 2, 3, 4].map(|seed| noise(FRAMES, seed)),
        }
    }

    fn play(&mut self, blocks: usize) {
        let [a, b, c, d] = self.audio.each_mut().map(|channel| channel.as_mut_ptr());
        let (mut main, mut out) = ([a, b], [c, d]);
        let (mut inputs, mut outputs) = ([bus(&mut main)], [bus(&mut out)]);
        let mut block = block(FRAMES, &mut inputs, &mut outputs);
        let changes = self.changes.as_com_ref::<IParameterChanges>().unwrap();
        block.inputParameterChanges = changes.as_ptr();
        for _ in 0..blocks {
            // SAFETY: the buffers are as long as they say.
            unsafe { self.plugin.processor.process(&mut block) };
        }
    }
}

#[test]
fn a_vst3_block_makes_no_system_call() {
    alone("real_time::a_vst3_block_makes_no_system_call", || {
        for automated in [
            &["measure"][..],
            &["output", "nudge_first", "amount", "bypass"],
            &["offset", "blend", "engage", "motion", "start"],
        ] {
            let calls = system_calls(Prepared::new(automated), |host| host.play(3_000));
            assert!(calls.is_empty(), "{automated:?}: {calls:?}");
        }
    });
}

/// What is the framework's own: a new latency is told through a thread that is woken, once for each exchange of the path.
#[test]
fn a_vst3_exchange_of_the_path_wakes_one_thread() {
    alone(
        "real_time::a_vst3_exchange_of_the_path_wakes_one_thread",
        || {
            let host = Prepared::new(&[]);
            host.plugin.preset("mode", 1.0);
            let calls = system_calls(host, |host| {
                // Two seconds, in which the path is built beside and put in place.
                for _ in 0..2_000 {
                    host.play(1);
                    let begin = std::time::Instant::now();
                    while begin.elapsed() < Duration::from_millis(1) {
                        spin_loop();
                    }
                }
            });
            println!("an exchange of the path: system calls and tries {calls:?}");
            let futex = libc::SYS_futex as usize;
            assert!(
                calls
                    .iter()
                    .all(|(number, tries)| *number == futex && *tries <= 2),
                "{calls:?}"
            );
        },
    );
}
