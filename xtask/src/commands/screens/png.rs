//! Small PNG files of drawings: a palette, as fine as 256 colours allow.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::BufWriter;
use std::path::Path;

use anyhow::Context;
use plumbline_hosting::Photo;

/// Colours of a palette.
const COLOURS: usize = 256;

/// Writes a picture and says how many bytes it takes.
pub fn write(photo: &Photo, path: &Path) -> anyhow::Result<u64> {
    let file = File::create(path).with_context(|| format!("cannot write {}", path.display()))?;
    let (palette, indices) = reduced(photo);
    let mut encoder = png::Encoder::new(BufWriter::new(file), photo.width, photo.height);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.as_flattened());
    encoder.set_compression(png::Compression::High);
    encoder.set_filter(png::Filter::NoFilter);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&indices)?;
    writer.finish()?;
    Ok(std::fs::metadata(path)?.len())
}

/// A palette, and a place in it for each pixel. Where there are too many colours, those that differ least become one, named
/// by the one that is seen most.
fn reduced(photo: &Photo) -> (Vec<[u8; 3]>, Vec<u8>) {
    let mut seen = BTreeMap::<[u8; 3], u32>::new();
    for pixel in &photo.pixels {
        *seen.entry(*pixel).or_default() += 1;
    }
    let coarse = |bits: u32| move |pixel: &[u8; 3]| pixel.map(|value| value >> bits);
    let mut bits = 0;
    let mut cells;
    loop {
        cells = BTreeMap::<[u8; 3], ([u8; 3], u32)>::new();
        for (colour, count) in &seen {
            let cell = cells.entry(coarse(bits)(colour)).or_insert((*colour, 0));
            if *count > cell.1 {
                *cell = (*colour, *count);
            }
        }
        if cells.len() <= COLOURS {
            break;
        }
        bits += 1;
    }
    let places: BTreeMap<[u8; 3], u8> = cells.keys().copied().zip(0..=u8::MAX).collect();
    let palette = cells.values().map(|(colour, _)| *colour).collect();
    let place = |pixel| places[&coarse(bits)(pixel)];
    (palette, photo.pixels.iter().map(place).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_colours_stay_and_many_become_a_palette() {
        let photo = |pixels: Vec<[u8; 3]>| Photo {
            width: pixels.len() as u32,
            height: 1,
            pixels,
        };
        let few: Vec<[u8; 3]> = (0..=255).map(|grey| [grey; 3]).collect();
        let (palette, places) = reduced(&photo(few.clone()));
        let back: Vec<_> = places
            .iter()
            .map(|place| palette[usize::from(*place)])
            .collect();
        assert_eq!(back, few);
        let many: Vec<[u8; 3]> = (0..=255)
            .flat_map(|red| (0..=255).map(move |green| [red, green, 7]))
            .collect();
        let (palette, places) = reduced(&photo(many.clone()));
        assert!(palette.len() <= COLOURS);
        for (pixel, place) in many.iter().zip(places) {
            let near = palette[usize::from(place)];
            assert!((0..3).all(|i| pixel[i].abs_diff(near[i]) < 16));
        }
    }
}
