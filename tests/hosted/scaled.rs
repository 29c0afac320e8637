//! The window at another scale of the host's: the same picture, larger.

use crate::hang::HANG;
use plumbline_hosting::{Screenshot, Window};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Least likeness of the same picture at two scales: small letters are drawn of other pixels. A picture that fills a quarter
/// of the window, or one that is drawn twice as large as it should be, is under a half.
const ALIKE: f64 = 0.8;

/// The window in grey at this many pixels a side, each the mean of those that it stands for.
fn grey(picture: &Screenshot, (width, height): (usize, usize)) -> Vec<f64> {
    let (mut sums, mut counts) = (vec![0.0; width * height], vec![0.0; width * height]);
    for (n, pixel) in picture.pixels.iter().enumerate() {
        let (x, y) = (n % picture.width as usize, n / picture.width as usize);
        let column = x * width / picture.width as usize;
        let place = y * height / picture.height as usize * width + column;
        sums[place] += pixel.iter().map(|part| f64::from(*part)).sum::<f64>();
        counts[place] += 1.0;
    }
    sums.iter()
        .zip(&counts)
        .map(|(sum, count)| sum / count)
        .collect()
}

/// Correlation of two pictures, laid over each other corner to corner.
fn likeness(a: &Screenshot, b: &Screenshot) -> f64 {
    let size = (a.width as usize, a.height as usize);
    let [a, b] = [a, b].map(|picture| {
        let grey = grey(picture, size);
        let mean = grey.iter().sum::<f64>() / grey.len() as f64;
        grey.iter().map(|x| x - mean).collect::<Vec<_>>()
    });
    let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    product(&a, &b) / (product(&a, &a) * product(&b, &b)).sqrt()
}

/// The upper left part of a picture, one over the scale of its sides.
fn corner(picture: &Screenshot, scale: f64) -> Screenshot {
    let part = |side: u32| (f64::from(side) / scale) as u32;
    let (width, height) = (part(picture.width), part(picture.height));
    let lines = picture.pixels.chunks(picture.width as usize);
    Screenshot {
        width,
        height,
        pixels: lines
            .take(height as usize)
            .flat_map(|line| line[..width as usize].to_vec())
            .collect(),
    }
}

/// What the window shows becomes `small`, so many times as large, whole, and not a part of it. A large picture takes its time on
/// a busy machine.
pub fn check(small: &Screenshot, window: &Window, scale: f64) {
    let scaled = |side: u32| (f64::from(side) * scale).round() as u32;
    let wanted = (scaled(small.width), scaled(small.height));
    let begin = Instant::now();
    loop {
        let large = window.screenshot().expect("a picture");
        let size = (large.width, large.height);
        let (whole, part) = (
            likeness(small, &large),
            likeness(small, &corner(&large, scale)),
        );
        let is_it = size == wanted && whole > ALIKE && (scale == 1.0 || part < 0.5);
        if is_it || begin.elapsed() > HANG {
            println!("scale {scale}: {size:?}, likeness {whole:.3}, of the corner alone {part:.3}");
            assert!(is_it, "{wanted:?} wanted");
            return;
        }
        sleep(Duration::from_millis(100));
    }
}
