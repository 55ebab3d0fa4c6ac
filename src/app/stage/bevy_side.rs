//! Cameras, meshes and materials behind the stage: the part that knows bevy.

use bevy::asset::{AssetEventSystems, load_internal_asset};
use bevy::camera::visibility::{NoFrustumCulling, RenderLayers, VisibilitySystems};
use bevy::camera::{CameraUpdateSystems, RenderTarget};
use bevy::ecs::system::SystemParam;
use bevy::prelude::*;
use bevy::render::render_resource::{Extent3d, TextureFormat};
use bevy::shader::Shader;
use bevy::sprite_render::{Material2dPlugin, MeshMaterial2d};
use bevy_egui::{EguiContexts, EguiPostUpdateSet, EguiTextureHandle, EguiUserTextures, egui};

use super::flow::{self, FlowMaterial};
use super::glass::{self, GlassMaterial, OVER};
use super::ink::{self, Ink};
use super::{Drawing, Place, Slot, Tube, Wanted};

/// Frames that a picture is drawn after it changed: what is new to the renderer (a mesh, a pipeline) may need one more.
const SETTLE: u8 = 3;

/// Draws scene and sight glass into pictures for the views.
///
/// Resources: its easels. Runs after the views have drawn and before anything is handed to the renderer.
pub struct StagePlugin;

impl Plugin for StagePlugin {
    fn build(&self, app: &mut App) {
        load_internal_asset!(app, glass::SHADER, "../../../assets/shaders/glass.wgsl", Shader::from_wgsl);
        load_internal_asset!(app, flow::SHADER, "../../../assets/shaders/flow.wgsl", Shader::from_wgsl);
        load_internal_asset!(app, ink::SHADER, "../../../assets/shaders/ink.wgsl", Shader::from_wgsl);
        app.add_plugins((
            Material2dPlugin::<GlassMaterial>::default(),
            Material2dPlugin::<FlowMaterial>::default(),
            Material2dPlugin::<Ink>::default(),
        ))
        .add_systems(Startup, put_up)
        .add_systems(
            PostUpdate,
            set_stage
                .after(EguiPostUpdateSet::EndPass)
                .before(AssetEventSystems)
                .before(CameraUpdateSystems)
                .before(VisibilitySystems::CalculateBounds)
                .before(TransformSystems::Propagate),
        );
    }
}

/// One picture: what it is drawn on and by.
struct Easel {
    image: Handle<Image>,
    texture: egui::TextureId,
    camera: Entity,
    layer: RenderLayers,
    last: Option<Wanted>,
    settle: u8,
    tubes: Vec<(Entity, Handle<GlassMaterial>)>,
    place: Option<OnStage>,
}

/// The supply along the vehicle, as it is on the stage.
struct OnStage {
    under: Handle<Mesh>,
    over: Handle<Mesh>,
    flows: Vec<Ribbon>,
}

/// A ribbon along a clear hose.
struct Ribbon {
    entity: Entity,
    mesh: Handle<Mesh>,
    material: Handle<FlowMaterial>,
}

/// Everything that things are made of.
#[derive(SystemParam)]
struct Stuff<'w, 's> {
    commands: Commands<'w, 's>,
    meshes: ResMut<'w, Assets<Mesh>>,
    glasses: ResMut<'w, Assets<GlassMaterial>>,
    flows: ResMut<'w, Assets<FlowMaterial>>,
    inks: ResMut<'w, Assets<Ink>>,
}

/// All pictures.
#[derive(Resource)]
struct Easels {
    all: Vec<Easel>,
    quad: Handle<Mesh>,
}

/// A picture to draw on that the window can show.
fn blank(width: u32, height: u32) -> Image {
    let mut image = Image::new_target_texture(width, height, TextureFormat::Rgba8UnormSrgb, None);
    // it lives on the graphics card alone, and another size is another picture
    image.data = None;
    image.copy_on_resize = false;
    image
}

fn put_up(
    mut commands: Commands,
    mut images: ResMut<Assets<Image>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut textures: ResMut<EguiUserTextures>,
) {
    let quad = meshes.add(Rectangle::new(1.0, 1.0));
    let all = Slot::ALL
        .into_iter()
        .map(|slot| {
            let image = images.add(blank(8, 8));
            let layer = RenderLayers::layer(slot as usize + 1);
            let camera = Camera { order: -1 - slot as isize, is_active: false, ..default() };
            let target = RenderTarget::from(image.clone());
            let camera = commands.spawn((Camera2d, camera, target, Msaa::Off, layer.clone())).id();
            let texture = textures.add_image(EguiTextureHandle::Strong(image.clone()));
            Easel { image, texture, camera, layer, last: None, settle: 0, tubes: vec![], place: None }
        })
        .collect();
    commands.insert_resource(Easels { all, quad });
}

/// Sets everything as the views of this frame want it.
fn set_stage(
    mut contexts: EguiContexts,
    mut easels: ResMut<Easels>,
    mut cameras: Query<(&mut Camera, &mut Projection, &mut Transform)>,
    mut images: ResMut<Assets<Image>>,
    mut stuff: Stuff,
    mut behind: ResMut<ClearColor>,
    mut installed: Local<bool>,
) -> Result {
    let ctx = contexts.ctx_mut()?.clone();
    let Easels { all, quad } = &mut *easels;
    if !*installed {
        *installed = true;
        let textures = core::array::from_fn(|i| all[i].texture);
        super::install(&ctx, textures);
        // the views have drawn without it
        ctx.request_repaint();
        return Ok(());
    }
    let (wanted, ground) = super::take(&ctx);
    if let Some(colour) = ground {
        let [r, g, b, _] = colour.to_array();
        let colour = Color::srgb_u8(r, g, b);
        if behind.0 != colour {
            behind.0 = colour;
        }
    }
    for (easel, wanted) in all.iter_mut().zip(wanted) {
        let (mut camera, mut projection, mut stands) = cameras.get_mut(easel.camera)?;
        let changed = wanted.is_some() && wanted != easel.last;
        if let Some(wanted) = wanted.filter(|_| changed) {
            let size = |w: &Wanted| w.pixels;
            if easel.last.as_ref().map(size) != Some(wanted.pixels)
                && let Some(mut image) = images.get_mut(&easel.image)
            {
                let [width, height] = wanted.pixels;
                image.resize(Extent3d { width, height, depth_or_array_layers: 1 });
                // the camera measures its picture anew
                projection.set_changed();
            }
            let [r, g, b, a] = ink::in_light(wanted.ground);
            camera.clear_color = ClearColorConfig::Custom(Color::linear_rgba(r, g, b, a));
            match &wanted.drawing {
                Drawing::Place(place) => {
                    // the drawing is moved by moving the camera
                    let half = Vec2::new(wanted.pixels[0] as f32, wanted.pixels[1] as f32) / 2.0;
                    let origin = Vec2::new(place.origin.x, place.origin.y) * wanted.per_point;
                    stands.translation = (half - origin).extend(0.0) * Vec3::new(1.0, -1.0, 1.0);
                    easel.set_place(place, wanted.per_point, &mut stuff);
                }
                Drawing::Tubes(tubes) => easel.set_tubes(tubes, &wanted, quad, &mut stuff),
            }
            easel.settle = SETTLE;
            easel.last = Some(wanted);
        }
        let draws = easel.settle > 0;
        if camera.is_active != draws {
            camera.is_active = draws;
        }
        if draws {
            easel.settle -= 1;
            ctx.request_repaint();
        }
    }
    Ok(())
}

impl Easel {
    fn set_place(&mut self, place: &Place, per_point: f32, stuff: &mut Stuff) {
        let before = match &self.last {
            Some(Wanted { drawing: Drawing::Place(before), per_point: at, .. }) if *at == per_point => Some(before),
            _ => None,
        };
        let on_stage = self.place.get_or_insert_with(|| OnStage::begin(&self.layer, stuff));
        if before.is_none_or(|b| b.under != place.under) {
            let _ = stuff.meshes.insert(&on_stage.under, ink::mesh(&place.under, per_point));
        }
        if before.is_none_or(|b| b.over != place.over) {
            let _ = stuff.meshes.insert(&on_stage.over, ink::mesh(&place.over, per_point));
        }
        while on_stage.flows.len() < place.flows.len() {
            on_stage.flows.push(Ribbon::begin(on_stage.flows.len(), &self.layer, stuff));
        }
        for (i, ribbon) in on_stage.flows.iter().enumerate() {
            let flow = place.flows.get(i);
            let seen = if flow.is_some() { Visibility::Inherited } else { Visibility::Hidden };
            stuff.commands.entity(ribbon.entity).insert(seen);
            let Some(flow) = flow else { continue };
            let was = before.and_then(|b| b.flows.get(i));
            if was.is_none_or(|w| w.way != flow.way || w.k != flow.k) {
                let _ = stuff.meshes.insert(&ribbon.mesh, flow::ribbon(&flow.way, flow.k, per_point));
            }
            let material = FlowMaterial::of(flow, per_point);
            if stuff.flows.get(&ribbon.material) != Some(&material) {
                let _ = stuff.flows.insert(&ribbon.material, material);
            }
        }
    }

    fn set_tubes(&mut self, tubes: &[Tube], wanted: &Wanted, quad: &Handle<Mesh>, stuff: &mut Stuff) {
        let Stuff { glasses, commands, .. } = stuff;
        while self.tubes.len() > tubes.len() {
            if let Some((entity, _)) = self.tubes.pop() {
                commands.entity(entity).despawn();
            }
        }
        let half = Vec2::new(wanted.pixels[0] as f32, wanted.pixels[1] as f32) / 2.0;
        for (i, tube) in tubes.iter().enumerate() {
            let material = GlassMaterial::of(tube, wanted.per_point);
            let k = tube.rect.width() / 60.0;
            let size = (tube.rect.size() + 2.0 * k * egui::Vec2::from(OVER)) * wanted.per_point;
            let middle = tube.rect.center() * wanted.per_point;
            let transform = Transform::from_xyz(middle.x - half.x, half.y - middle.y, 0.0)
                .with_scale(Vec3::new(size.x, size.y, 1.0));
            match self.tubes.get(i) {
                Some((entity, handle)) => {
                    if glasses.get(handle) != Some(&material) {
                        let _ = glasses.insert(handle, material);
                    }
                    commands.entity(*entity).insert(transform);
                }
                None => {
                    let handle = glasses.add(material);
                    let drawn =
                        (Mesh2d(quad.clone()), MeshMaterial2d(handle.clone()), transform, self.layer.clone());
                    self.tubes.push((commands.spawn(drawn).id(), handle));
                }
            }
        }
    }
}

impl OnStage {
    fn begin(layer: &RenderLayers, stuff: &mut Stuff) -> Self {
        let ink = MeshMaterial2d(stuff.inks.add(Ink {}));
        let [under, over] = core::array::from_fn(|_| stuff.meshes.add(ink::mesh(&[], 1.0)));
        let at = |z: f32| Transform::from_xyz(0.0, 0.0, z);
        // what is new each time fits into no bounds known beforehand
        let common = (layer.clone(), NoFrustumCulling);
        stuff.commands.spawn((Mesh2d(under.clone()), ink.clone(), at(0.0), common.clone()));
        stuff.commands.spawn((Mesh2d(over.clone()), ink, at(2.0), common));
        Self { under, over, flows: vec![] }
    }
}

impl Ribbon {
    /// The i-th lies a little over those before it, between what lies under and what lies over all of them.
    fn begin(i: usize, layer: &RenderLayers, stuff: &mut Stuff) -> Self {
        let material = stuff.flows.add(FlowMaterial::default());
        let mesh = stuff.meshes.add(ink::mesh(&[], 1.0));
        let at = Transform::from_xyz(0.0, 0.0, 1.0 + (i as f32 * 0.01).min(0.9));
        let drawn = (Mesh2d(mesh.clone()), MeshMaterial2d(material.clone()), at, layer.clone(), NoFrustumCulling);
        let entity = stuff.commands.spawn((drawn, Visibility::Hidden)).id();
        Self { entity, mesh, material }
    }
}
