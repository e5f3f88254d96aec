//! HEIC files, with the feature `heic`: whole, cut short, bytes changed.
#![cfg(feature = "heic")]

use std::fs;
use std::path::Path;

use gridlift::decide::Verdict;
use gridlift::decode::{self, DecodeError, Options};
use gridlift::lift::Lifter;
use libheif_rs::{ColorSpace, CompressionFormat, EncoderQuality, HeifContext, Image, LibHeif, RgbChroma};

/// A sample page as a telephone would store it.
fn photo() -> Vec<u8> {
    let bytes = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/clean.jpg")).expect("a sample");
    let pixels = image::load_from_memory(&bytes).expect("a picture").into_rgb8();
    let (width, height) = pixels.dimensions();
    let mut picture = Image::new(width, height, ColorSpace::Rgb(RgbChroma::Rgb)).expect("a picture");
    picture.create_plane(libheif_rs::Channel::Interleaved, width, height, 24).expect("a plane");
    let plane = picture.planes_mut().interleaved.expect("the plane just made");
    for (to, from) in plane.data.chunks_mut(plane.stride).zip(pixels.chunks(width as usize * 3)) {
        to[..from.len()].copy_from_slice(from);
    }
    let library = LibHeif::new();
    let mut encoder = library.encoder_for_format(CompressionFormat::Hevc).expect("libheif with an encoder");
    encoder.set_quality(EncoderQuality::Lossy(60)).expect("a quality");
    let mut file = HeifContext::new().expect("a file");
    file.encode_image(&picture, &mut encoder, None).expect("encoded");
    file.write_to_bytes().expect("written")
}

fn decode(bytes: &[u8]) -> Result<decode::Page, DecodeError> {
    decode::open(bytes, &Options { colour: true, ..Options::default() })?.next().expect("one page")
}

#[test]
fn a_photo_is_read_like_any_other_and_damage_is_told() {
    let whole = photo();
    let page = decode(&whole).expect("a page");
    assert_eq!(page.luma.dimensions(), (1241, 1458));
    let reading = Lifter::new().expect("the networks").lift(&page).expect("they run");
    assert_eq!(reading.grids[0].reading.verdict, Verdict::Proven);

    for end in (1..whole.len()).step_by(whole.len() / 20) {
        assert!(decode(&whole[..end]).is_err(), "cut to {end} of {}", whole.len());
    }
    for at in (0..whole.len()).step_by(whole.len() / 40) {
        let mut bytes = whole.clone();
        bytes[at] = !bytes[at];
        // Garbage in the pixels can't be told from a picture; nothing else is asked than that this comes back.
        drop(decode(&bytes));
    }
    let small = decode::open(&whole, &Options { limit_pixels: 1000, colour: false }).expect("a file").next().expect("a page");
    assert!(matches!(small, Err(DecodeError::TooLarge { .. })));
}
