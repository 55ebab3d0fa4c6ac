//! What bevy draws for the views: scene and sight glass, into pictures that the views show in their place.
//!
//! A view leaves plain data for one of the pictures ([`Slot`]) and shows its texture; after the views have drawn, a system
//! takes the data and sets meshes, materials and cameras accordingly, in the same frame. A picture for which the same is
//! wanted as before isn't drawn again. Where nobody installed a stage, as in tests without a renderer, [`picture`] says so
//! and the view paints shapes itself.

mod bevy_side;
mod flow;
mod glass;
mod ink;

use std::sync::Arc;

use bevy_egui::egui::{Color32, Context, Id, Pos2, Rect, Shape, TextureId, Ui, mutex::Mutex, pos2};

use super::sight_glass::{GlassState, Picture};
use super::tokens::Tokens;
pub use bevy_side::StagePlugin;

/// A picture that bevy draws.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slot {
    /// The supply along the vehicle.
    Scene,
    /// The glass at the tee.
    Glass,
    /// The card of looks.
    Card,
}

impl Slot {
    /// Every picture.
    pub const ALL: [Self; 3] = [Self::Scene, Self::Glass, Self::Card];
}

/// A tube in a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Tube {
    /// Its bore and wall without the caps, points from the picture's upper left corner.
    pub rect: Rect,
    /// What is in it; none: it is dry.
    pub picture: Option<Picture>,
    /// What has moved.
    pub state: GlassState,
    /// Colours.
    pub tokens: &'static Tokens,
}

/// Units of the drawing a metre of way in the glass: a van of 4 m is 752 units long, and the fuel is 2.25 times
/// as fast in a line of 8 mm as in the glass of 12 mm.
pub const UNITS_A_METRE: f64 = LINE_UNITS_A_METRE * 2.25;
/// Units of the drawing a metre of way in a line.
pub const LINE_UNITS_A_METRE: f64 = 188.0;
/// Half the length of the tee's clear hose, units of the drawing.
pub const TEE_HOSE: f32 = 44.0;

/// What moves in a hose that is clear: that of the tee, or a line of the vehicle's own.
#[derive(Clone, Debug, PartialEq)]
pub struct Flow {
    /// Points of the line on the board, each with its way from the tee: units of the drawing, positive with the flow.
    pub way: Vec<(Pos2, f32)>,
    /// Points a unit.
    pub k: f32,
    /// Half the length of the clear hose, units.
    pub clear: f32,
    /// Way from its middle on which arrows tell of the flow in what isn't clear, units; 0: nowhere.
    pub arrows: f32,
    /// Units of the drawing a metre of way.
    pub a_metre: f64,
    /// What passes.
    pub picture: Option<Picture>,
    /// What has moved.
    pub state: GlassState,
    /// Colours.
    pub tokens: &'static Tokens,
}

impl Flow {
    /// How far the fuel has gone, units of the drawing; it begins anew after many.
    pub fn gone(&self) -> f32 {
        (self.state.gone_m * self.a_metre).rem_euclid(16.0 * 3000.0) as f32
    }
}

/// The supply along the vehicle: what doesn't move below and above what does.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Vehicle, tanks, lines.
    pub under: Vec<Shape>,
    /// What moves; what comes later lies over what comes first.
    pub flows: Vec<Flow>,
    /// Parts, joints, tools.
    pub over: Vec<Shape>,
    /// Where the board's corner lies, points from the picture's upper left corner.
    pub origin: Pos2,
}

/// What is wanted in a picture.
#[derive(Clone, Debug, PartialEq)]
pub enum Drawing {
    /// The supply along the vehicle.
    Place(Place),
    /// Tubes side by side.
    Tubes(Vec<Tube>),
}

/// A picture as it is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Width and height, pixels.
    pub pixels: [u32; 2],
    /// Pixels a point.
    pub per_point: f32,
    /// What is behind everything.
    pub ground: Color32,
    /// What is drawn.
    pub drawing: Drawing,
}

/// Between the views and bevy.
#[derive(Debug)]
struct Stage {
    textures: [TextureId; Slot::ALL.len()],
    wanted: [Option<Wanted>; Slot::ALL.len()],
    ground: Option<Color32>,
}

fn id() -> Id {
    Id::new("stage")
}

/// From now on bevy draws into these textures.
fn install(ctx: &Context, textures: [TextureId; Slot::ALL.len()]) {
    let stage = Arc::new(Mutex::new(Stage { textures, wanted: [const { None }; Slot::ALL.len()], ground: None }));
    ctx.data_mut(|data| data.insert_temp(id(), stage));
}

fn of(ctx: &Context) -> Option<Arc<Mutex<Stage>>> {
    ctx.data(|data| data.get_temp(id()))
}

/// What the views of this frame want, each picture once, and what is behind the whole window.
fn take(ctx: &Context) -> ([Option<Wanted>; Slot::ALL.len()], Option<Color32>) {
    of(ctx).map_or(([const { None }; Slot::ALL.len()], None), |stage| {
        let mut stage = stage.lock();
        (std::mem::take(&mut stage.wanted), stage.ground.take())
    })
}

/// One colour behind the whole window: bevy begins each frame with it, which costs nothing, or else it is painted.
pub fn ground(ui: &Ui, window: Rect, colour: Color32) {
    match of(ui.ctx()) {
        Some(stage) => stage.lock().ground = Some(colour),
        None => {
            ui.painter().rect_filled(window, 0, colour);
        }
    }
}

/// A rectangle whose corners lie on pixels, so that a picture isn't smeared over two.
pub fn on_pixels(ctx: &Context, rect: Rect) -> Rect {
    let per = ctx.pixels_per_point();
    let snapped = |p: Pos2| pos2((p.x * per).round() / per, (p.y * per).round() / per);
    Rect::from_min_max(snapped(rect.min), snapped(rect.max))
}

/// A picture in a rectangle that [`on_pixels`] gave, to be painted by the view.
///
/// # Errors
/// The drawing, where nobody draws it: the view paints it itself.
#[allow(clippy::result_large_err, reason = "it is no error: what nobody draws is given back whole")]
pub fn picture(ctx: &Context, slot: Slot, rect: Rect, ground: Color32, drawing: Drawing) -> Result<Shape, Drawing> {
    let Some(stage) = of(ctx) else { return Err(drawing) };
    let per_point = ctx.pixels_per_point();
    let size = rect.size() * per_point;
    let pixels = [size.x, size.y].map(|v| (v.round() as u32).clamp(1, 8192));
    let mut stage = stage.lock();
    stage.wanted[slot as usize] = Some(Wanted { pixels, per_point, ground, drawing });
    let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
    Ok(Shape::image(stage.textures[slot as usize], rect, whole, Color32::WHITE))
}
