//! A picture in the making, and the PNG that it becomes.

use std::{fs, io::BufWriter, path::Path};

use bevy_egui::egui::Color32;

use super::picture::PictureError;

/// Rows of RGBA into which panes are put.
pub struct Sheet {
    size: [u32; 2],
    pixels: Vec<u8>,
}

impl Sheet {
    /// An empty one.
    pub fn new(width: u32, height: u32, ground: Color32) -> Self {
        Self { size: [width, height], pixels: ground.to_array().repeat(width as usize * height as usize) }
    }

    /// Puts a pane of `size` there, its upper left corner at `at`, pixels.
    pub fn put(&mut self, pane: &[u8], size: [u32; 2], at: [u32; 2]) {
        let row = size[0] as usize * 4;
        for (y, line) in pane.chunks_exact(row.max(1)).enumerate() {
            let start = ((at[1] as usize + y) * self.size[0] as usize + at[0] as usize) * 4;
            if let Some(place) = self.pixels.get_mut(start..start + row) {
                place.copy_from_slice(line);
            }
        }
    }

    /// Writes it, with its dots a metre where it is meant for paper. The file is there whole or not at all.
    ///
    /// # Errors
    /// If it cannot be encoded or written.
    pub fn write(self, path: &Path, per_metre: Option<u32>) -> Result<(), PictureError> {
        let bytes = self.encoded(per_metre).map_err(|error| PictureError::Encode(error.to_string()))?;
        let beside = path.with_extension("png.part");
        let written = fs::write(&beside, bytes).and_then(|()| fs::rename(&beside, path));
        written.map_err(|source| {
            drop(fs::remove_file(&beside));
            PictureError::Write { path: path.to_owned(), source }
        })
    }

    fn encoded(self, per_metre: Option<u32>) -> Result<Vec<u8>, png::EncodingError> {
        let [width, height] = self.size;
        let opaque: Vec<u8> = self.pixels.chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(BufWriter::new(&mut bytes), width, height);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
        if let Some(dots) = per_metre {
            encoder.set_pixel_dims(Some(png::PixelDimensions { xppu: dots, yppu: dots, unit: png::Unit::Meter }));
        }
        let mut writer = encoder.write_header()?;
        writer.write_image_data(&opaque)?;
        writer.finish()?;
        Ok(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_for_paper_says_how_large_it_is_there() {
        let mut sheet = Sheet::new(30, 20, Color32::WHITE);
        sheet.put(&[9, 8, 7, 255], [1, 1], [29, 19]);
        // 300 dots an inch of 25.4 mm are 11 811 a metre.
        let bytes = sheet.encoded(Some(11_811)).unwrap();
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let dims = reader.info().pixel_dims.unwrap();
        assert_eq!((dims.xppu, dims.yppu, dims.unit), (11_811, 11_811, png::Unit::Meter));
        assert_eq!(reader.info().size(), (30, 20));
        let mut pixels = vec![0; 30 * 20 * 3];
        reader.next_frame(&mut pixels).unwrap();
        assert_eq!(pixels[..3], [255; 3]);
        assert_eq!(pixels[pixels.len() - 3..], [9, 8, 7]);
    }

    #[test]
    fn a_picture_that_cannot_be_written_leaves_nothing_behind() {
        let folder = std::env::temp_dir().join(format!("heelpoint-png-{}", std::process::id()));
        let nowhere = folder.join("picture.png");
        let error = Sheet::new(4, 4, Color32::WHITE).write(&nowhere, None).unwrap_err();
        assert!(error.to_string().contains("picture.png"), "{error}");
        assert!(!folder.exists());
    }
}
