//! All other formats, through the image crate, whatever their channels and depth.

use std::io::{BufRead, ErrorKind, Seek, SeekFrom};

use image::metadata::Orientation;
use image::{ColorType, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits};

use super::{Damage, DecodeError, Options, Page, check_size, upright};

/// What the buffer holds before decoding: grey tells neither ink nor paper where a file is cut short.
const FILL: u8 = 0x80;

/// The first page of a file of `format`. Where the data end early or contradict themselves, the rows decoded
/// until then count as the picture, and [`Page::damage`] says so.
pub fn decode(mut file: impl BufRead + Seek, format: ImageFormat, options: &Options) -> Result<Page, DecodeError> {
    let cut = format == ImageFormat::WebP && is_cut_webp(&mut file).unwrap_or(true);
    let mut reader = ImageReader::with_format(file, format);
    let mut limits = Limits::no_limits();
    // The widest pixel takes 16 bytes, and a decoder may hold the picture twice.
    limits.max_alloc = Some(options.limit_pixels.saturating_mul(32).max(1 << 26));
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(refused)?;
    let (width, height) = decoder.dimensions();
    check_size(width, height, options)?;

    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let colour = decoder.color_type();
    Layout::of(colour)?;
    let size = usize::try_from(decoder.total_bytes()).map_err(|_| refused_size(width, height, options))?;
    let mut pixels = vec![FILL; size];
    let mut damage = Vec::new();
    if let Err(error) = decoder.read_image(&mut pixels) {
        if pixels.iter().all(|&byte| byte == FILL) {
            return Err(refused(error));
        }
        damage.push(match &error {
            ImageError::IoError(error) if error.kind() == ErrorKind::UnexpectedEof => Damage::CutShort,
            _ => Damage::Corrupt,
        });
    }
    if cut && damage.is_empty() {
        damage.push(Damage::CutShort);
    }
    let page = page(&pixels, (width, height), colour, orientation, options)?;
    Ok(Page { damage, ..page })
}

/// The page of `width` x `height` `pixels` of `colour`, as they are stored.
pub fn page(
    pixels: &[u8],
    (width, height): (u32, u32),
    colour: ColorType,
    orientation: Orientation,
    options: &Options,
) -> Result<Page, DecodeError> {
    let layout = Layout::of(colour)?;
    let sample = |weights| {
        let layout = &layout;
        move |i| layout.mix(pixels, i, weights)
    };
    Ok(Page {
        number: 1,
        luma: upright::plane(width, height, orientation, sample(LUMA)),
        chroma: (options.colour && layout.coloured)
            .then(|| [CB, CR].map(|weights| upright::half_plane(width, height, orientation, sample(weights)))),
        damage: Vec::new(),
        digits: Vec::new(),
    })
}

/// Whether a WebP file is shorter than its RIFF header says.
fn is_cut_webp(file: &mut (impl BufRead + Seek)) -> std::io::Result<bool> {
    let mut header = [0; 8];
    file.read_exact(&mut header)?;
    let length = file.seek(SeekFrom::End(0))?;
    file.rewind()?;
    let [.., a, b, c, d] = header;
    Ok(length < u64::from(u32::from_le_bytes([a, b, c, d])) + 8)
}

/// Weights of red, green and blue, and an offset: JFIF 1.02, section "Conversion to and from RGB" (ITU-R
/// BT.601), so that brightness means the same as in a JPEG file.
type Weights = [f32; 4];
const LUMA: Weights = [0.299, 0.587, 0.114, 0.0];
const CB: Weights = [-0.168_735_9, -0.331_264_1, 0.5, 128.0];
const CR: Weights = [0.5, -0.418_687_6, -0.081_312_4, 128.0];

/// How the bytes of one pixel are to be understood.
struct Layout {
    channels: usize,
    coloured: bool,
    transparent: bool,
    depth: Depth,
}

#[derive(Clone, Copy)]
enum Depth {
    Byte,
    Word,
    Float,
}

impl Layout {
    fn of(colour: ColorType) -> Result<Self, DecodeError> {
        let (channels, depth) = match colour {
            ColorType::L8 => (1, Depth::Byte),
            ColorType::La8 => (2, Depth::Byte),
            ColorType::Rgb8 => (3, Depth::Byte),
            ColorType::Rgba8 => (4, Depth::Byte),
            ColorType::L16 => (1, Depth::Word),
            ColorType::La16 => (2, Depth::Word),
            ColorType::Rgb16 => (3, Depth::Word),
            ColorType::Rgba16 => (4, Depth::Word),
            ColorType::Rgb32F => (3, Depth::Float),
            ColorType::Rgba32F => (4, Depth::Float),
            other => return Err(DecodeError::Unsupported { what: format!("pictures of {other:?} pixels") }),
        };
        Ok(Self { channels, coloured: channels > 2, transparent: channels % 2 == 0, depth })
    }

    /// The weighted sum of the colours of pixel `index`, laid over white where it is see-through.
    fn mix(&self, pixels: &[u8], index: usize, [red, green, blue, offset]: Weights) -> u8 {
        let first = index * self.channels;
        if let (Depth::Byte, 1) = (self.depth, self.channels) {
            return pixels[first];
        }
        let value = |channel: usize| self.value(pixels, first + channel);
        let alpha = if self.transparent { value(self.channels - 1) / 255.0 } else { 1.0 };
        let over_white = |channel: usize| value(channel) * alpha + 255.0 * (1.0 - alpha);
        let sum = if self.coloured { red * over_white(0) + green * over_white(1) + blue * over_white(2) + offset } else { over_white(0) };
        sum.round() as u8
    }

    /// Sample `index` on a scale of 0 to 255. The image crate gives wide samples in the machine's byte order.
    fn value(&self, pixels: &[u8], index: usize) -> f32 {
        match self.depth {
            Depth::Byte => f32::from(pixels[index]),
            Depth::Word => f32::from(u16::from_ne_bytes([pixels[2 * index], pixels[2 * index + 1]])) / 257.0,
            Depth::Float => {
                let bytes = std::array::from_fn(|i| pixels[4 * index + i]);
                f32::from_ne_bytes(bytes).clamp(0.0, 1.0) * 255.0
            }
        }
    }
}

fn refused(error: ImageError) -> DecodeError {
    match error {
        ImageError::Unsupported(error) => DecodeError::Unsupported { what: format!("such pictures ({error})") },
        error => DecodeError::Damaged { detail: error.to_string() },
    }
}

fn refused_size(width: u32, height: u32, options: &Options) -> DecodeError {
    DecodeError::TooLarge { width, height, limit_pixels: options.limit_pixels }
}
