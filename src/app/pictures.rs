//! Pictures that a job shows on its card: decoded once, and under each the same in words.

use bevy::asset::RenderAssetUsages;
use bevy::image::{CompressedImageFormats, Image, ImageSampler, ImageType};
use bevy_egui::egui::{
    self, ColorImage, Id, Sense, TextureHandle, TextureOptions, Ui, WidgetInfo, WidgetType, vec2,
};

use super::theme::{quiet, remark};
use crate::language::{named, said};
use crate::scenario::model::Shown;
use crate::scenario::picture::Picture;

/// Most height of a picture on the card, points: the questions under it stay in sight.
const HEIGHT: f32 = 220.0;

/// Its pixels; none when they can't be told.
fn pixels(picture: &Picture) -> Option<ColorImage> {
    let (png, only_here) = (ImageType::Extension("png"), RenderAssetUsages::MAIN_WORLD);
    let none = CompressedImageFormats::NONE;
    let image = Image::from_buffer(picture.png(), png, none, true, ImageSampler::Default, only_here).ok()?;
    let size = [image.width() as usize, image.height() as usize];
    let data = image.data?;
    (data.len() == 4 * size[0] * size[1]).then(|| ColorImage::from_rgba_unmultiplied(size, &data))
}

/// The picture as egui keeps it; decoded when it is asked for first.
fn texture(picture: &Picture, ui: &Ui) -> Option<TextureHandle> {
    let id = Id::new(("picture of a job", picture.sum(), picture.size()));
    if let Some(known) = ui.data(|d| d.get_temp::<Option<TextureHandle>>(id)) {
        return known;
    }
    let made = pixels(picture).map(|p| ui.ctx().load_texture("picture of a job", p, TextureOptions::LINEAR));
    ui.data_mut(|d| d.insert_temp(id, made.clone()));
    made
}

/// Draws pictures under one another, each with what it shows.
pub fn pictures_ui(shown: &[Shown], ui: &mut Ui) {
    for it in shown {
        ui.add_space(6.0);
        let words = named(&it.shows);
        match texture(&it.picture, ui) {
            Some(texture) => {
                let whole = texture.size_vec2();
                let scale = (ui.available_width() / whole.x).min(HEIGHT / whole.y).min(1.0);
                let (rect, response) = ui.allocate_exact_size((whole * scale).max(vec2(1.0, 1.0)), Sense::hover());
                response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, words));
                let all = egui::Rect::from_min_max(egui::Pos2::ZERO, egui::pos2(1.0, 1.0));
                ui.painter().image(texture.id(), rect, all, egui::Color32::WHITE);
            }
            None => {
                ui.label(quiet(ui, said("picture-unreadable")));
            }
        }
        ui.label(remark(ui, words));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::picture::EXAMPLE;

    #[test]
    fn a_picture_becomes_pixels_and_a_broken_one_becomes_none() {
        let shown = pixels(&Picture::read(EXAMPLE).unwrap()).unwrap();
        assert_eq!((shown.size, shown.pixels[0].to_array()), ([1, 1], [128, 128, 128, 255]));
        // its frame is right, what is in it isn't: nothing behind the frame was looked at before
        let odd = crate::scenario::picture::of_data(&[0x78, 0x9c, 0xff, 0xff]);
        assert!(pixels(&Picture::read(&odd).unwrap()).is_none());
    }
}
