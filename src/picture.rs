//! Photos as bytes: what kind they are, how large, and small copies of them. No file access.
//!
//! Only JPEG and PNG are taken, told by their content and never by a name. The sides and the memory that reading one may take
//! are limited before a single point is read.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};
use sha2::{Digest, Sha256};

/// The largest photo in bytes.
pub const LARGEST: u64 = 40 << 20;

/// The most points a photo may have: a telephone's 48 megapixels fit.
pub const MOST_POINTS: u64 = 50_000_000;

/// The longest side in points.
const LONGEST_SIDE: u32 = 20_000;

/// The most memory that reading a photo may take.
const MOST_MEMORY: u64 = 400 << 20;

/// How finely a small copy is written, of 100.
const QUALITY: u8 = 80;

/// What kind of photo it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
}

impl Kind {
    /// How its file's name ends.
    #[must_use]
    pub fn ending(self) -> &'static str {
        match self {
            Kind::Jpeg => "jpg",
            Kind::Png => "png",
        }
    }
}

/// What a photo's head says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// Its kind.
    pub kind: Kind,
    /// Points across.
    pub width: u32,
    /// Points down.
    pub height: u32,
    /// Whether its camera wrote down where it was taken.
    pub place: bool,
}

/// Why a photo is not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PictureError {
    /// It is neither.
    #[error("it is neither a JPEG nor a PNG picture, whatever its name says")]
    Neither,
    /// Too many bytes.
    #[error("it is larger than {} MB; make a smaller copy", LARGEST >> 20)]
    TooLarge,
    /// Too many points.
    #[error("it has {0} by {1} points, more than {most} million; make a smaller copy", most = MOST_POINTS / 1_000_000)]
    TooManyPoints(u32, u32),
    /// It cannot be read.
    #[error("it is damaged: {0}")]
    Damaged(String),
}

/// Points of a picture, row by row, each red, green and blue.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Points {
    /// How many across.
    pub width: u32,
    /// How many down.
    pub height: u32,
    /// All of them.
    pub points: Vec<[u8; 3]>,
}

impl Points {
    /// The mean of the points in a box, given in shares of the whole from 0 to 1.
    #[must_use]
    pub fn mean(&self, across: (f64, f64), down: (f64, f64)) -> [u8; 3] {
        let span = |(from, to): (f64, f64), all: u32| {
            let first = ((from * f64::from(all)) as u32).min(all.saturating_sub(1));
            let end = ((to * f64::from(all)).ceil() as u32).clamp(first + 1, all.max(first + 1));
            (first, end)
        };
        let ((left, right), (top, bottom)) = (span(across, self.width), span(down, self.height));
        let mut sums = [0_u64; 3];
        let mut count = 0;
        for y in top..bottom {
            for x in left..right {
                let at = y as usize * self.width as usize + x as usize;
                let Some(point) = self.points.get(at) else { continue };
                for (sum, value) in sums.iter_mut().zip(point) {
                    *sum += u64::from(*value);
                }
                count += 1;
            }
        }
        sums.map(|sum| u8::try_from(sum / count.max(1)).unwrap_or(u8::MAX))
    }
}

/// The name of a photo in a car's folder: the SHA-256 of its bytes and its kind.
#[must_use]
pub fn name(bytes: &[u8], kind: Kind) -> String {
    let mut name = String::with_capacity(68);
    for byte in Sha256::digest(bytes) {
        name.push_str(&format!("{byte:02x}"));
    }
    name.push('.');
    name.push_str(kind.ending());
    name
}

/// What the head of a photo says.
///
/// # Errors
/// When it is no photo that is taken.
pub fn head(bytes: &[u8]) -> Result<Head, PictureError> {
    let (decoder, kind) = opened(bytes)?;
    let mut decoder = decoder;
    let (width, height) = decoder.dimensions();
    let exif = decoder.exif_metadata().ok().flatten().unwrap_or_default();
    Ok(Head {
        kind,
        width,
        height,
        place: says_where(&exif),
    })
}

/// Reads a photo to its end, as it was held, no side longer than so many points.
///
/// # Errors
/// As [`head`], and when it is damaged further on.
pub fn points(bytes: &[u8], longest: u32) -> Result<Points, PictureError> {
    let small = small(bytes, longest)?.into_rgb8();
    Ok(Points {
        width: small.width(),
        height: small.height(),
        points: small.pixels().map(|p| p.0).collect(),
    })
}

/// A small JPEG copy, as it was held, with nothing that the camera wrote beside the picture; and its width and height.
///
/// # Errors
/// As [`points`].
pub fn small_jpeg(bytes: &[u8], longest: u32) -> Result<(Vec<u8>, u32, u32), PictureError> {
    let small = small(bytes, longest)?.into_rgb8();
    let mut out = Vec::new();
    JpegEncoder::new_with_quality(&mut out, QUALITY)
        .encode_image(&small)
        .map_err(|e| PictureError::Damaged(e.to_string()))?;
    Ok((out, small.width(), small.height()))
}

fn small(bytes: &[u8], longest: u32) -> Result<DynamicImage, PictureError> {
    let (mut decoder, _) = opened(bytes)?;
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let mut image = DynamicImage::from_decoder(decoder).map_err(damaged)?;
    if image.width().max(image.height()) > longest {
        image = image.resize(longest.max(1), longest.max(1), FilterType::Triangle);
    }
    image.apply_orientation(orientation);
    Ok(image)
}

fn damaged(error: image::ImageError) -> PictureError {
    PictureError::Damaged(error.to_string())
}

fn opened(bytes: &[u8]) -> Result<(impl ImageDecoder + '_, Kind), PictureError> {
    if bytes.len() as u64 > LARGEST {
        return Err(PictureError::TooLarge);
    }
    let (format, kind) = match image::guess_format(bytes) {
        Ok(ImageFormat::Jpeg) => (ImageFormat::Jpeg, Kind::Jpeg),
        Ok(ImageFormat::Png) => (ImageFormat::Png, Kind::Png),
        _ => return Err(PictureError::Neither),
    };
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MOST_MEMORY);
    reader.limits(limits);
    let decoder = reader.into_decoder().map_err(damaged)?;
    let (width, height) = decoder.dimensions();
    let points = u64::from(width) * u64::from(height);
    if width.max(height) > LONGEST_SIDE || points > MOST_POINTS {
        return Err(PictureError::TooManyPoints(width, height));
    }
    if points == 0 {
        return Err(PictureError::Damaged("it has no points".to_owned()));
    }
    if decoder.total_bytes() > MOST_MEMORY {
        return Err(PictureError::TooManyPoints(width, height));
    }
    Ok((decoder, kind))
}

/// Whether EXIF data hold a block of the place: the first directory's entry 0x8825, "GPS Info IFD Pointer" (Exif 2.32, 4.6.3).
fn says_where(exif: &[u8]) -> bool {
    let little = match exif.get(..2) {
        Some(b"II") => true,
        Some(b"MM") => false,
        _ => return false,
    };
    let two = |at: usize| {
        let pair: [u8; 2] = exif.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if little {
            u16::from_le_bytes(pair)
        } else {
            u16::from_be_bytes(pair)
        })
    };
    let four = |at: usize| {
        let quad: [u8; 4] = exif.get(at..at.checked_add(4)?)?.try_into().ok()?;
        Some(if little {
            u32::from_le_bytes(quad)
        } else {
            u32::from_be_bytes(quad)
        })
    };
    let Some(directory) = four(4).and_then(|at| usize::try_from(at).ok()) else {
        return false;
    };
    let entries = usize::from(two(directory).unwrap_or(0));
    (0..entries).any(|n| directory.checked_add(2 + n * 12).and_then(two) == Some(0x8825))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_place_is_found_in_either_order_of_bytes() {
        let little = b"II*\0\x08\0\0\0\x01\0\x25\x88\x04\0\x01\0\0\0\x1a\0\0\0\0\0\0\0";
        let big = b"MM\0*\0\0\0\x08\0\x01\x88\x25\0\x04\0\0\0\x01\0\0\0\x1a\0\0\0\0";
        assert!(says_where(little) && says_where(big));
        let none = b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x01\0\0\0\0\0\0\0";
        assert!(!says_where(none));
        for cut in 0..little.len() {
            // Cut anywhere it may be missed, never do harm.
            let _ = says_where(little.get(..cut).unwrap_or_default());
        }
        assert!(!says_where(b"II*\0\xff\xff\xff\xff"));
    }

    #[test]
    fn the_name_is_the_published_hash() {
        // FIPS 180-2, appendix B.1: the message "abc".
        let want = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad.png";
        assert_eq!(name(b"abc", Kind::Png), want);
    }

    #[test]
    fn a_box_has_the_mean_of_its_points() {
        let points = Points {
            width: 2,
            height: 2,
            points: vec![[0; 3], [100; 3], [200; 3], [100; 3]],
        };
        assert_eq!(points.mean((0.0, 1.0), (0.0, 1.0)), [100; 3]);
        assert_eq!(points.mean((0.0, 0.5), (0.5, 1.0)), [200; 3]);
        assert_eq!(points.mean((1.0, 1.0), (1.0, 1.0)), [100; 3]);
    }
}
