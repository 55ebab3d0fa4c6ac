//! Shapes that don't move, as a mesh with a colour in each corner.

use bevy::asset::{RenderAssetUsages, uuid_handle};
use bevy::mesh::{Indices, MeshVertexBufferLayoutRef, PrimitiveTopology};
use bevy::prelude::*;
use bevy::render::render_resource::{
    AsBindGroup, BlendState, RenderPipelineDescriptor, SpecializedMeshPipelineError,
};
use bevy::shader::{Shader, ShaderRef};
use bevy::sprite_render::{AlphaMode2d, Material2d, Material2dKey};
use bevy_egui::egui::epaint::{TessellationOptions, Tessellator};
use bevy_egui::egui::{self, Color32, Shape};

/// The shader; it is in the executable.
pub(super) const SHADER: Handle<Shader> = uuid_handle!("b4f2a5d0-5d0c-4b65-9a39-2f8d1c7a9e02");

/// Colours in the corners, blended as they are.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug, Default)]
pub(super) struct Ink {}

impl Material2d for Ink {
    fn fragment_shader() -> ShaderRef {
        SHADER.into()
    }

    fn alpha_mode(&self) -> AlphaMode2d {
        AlphaMode2d::Blend
    }

    fn specialize(
        descriptor: &mut RenderPipelineDescriptor,
        _: &MeshVertexBufferLayoutRef,
        _: Material2dKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        multiplied(descriptor);
        Ok(())
    }
}

/// Colours come multiplied with how much they cover: an edge that fades is then as light as its inside.
pub(super) fn multiplied(descriptor: &mut RenderPipelineDescriptor) {
    for target in descriptor.fragment.iter_mut().flat_map(|f| f.targets.iter_mut().flatten()) {
        target.blend = Some(BlendState::PREMULTIPLIED_ALPHA_BLENDING);
    }
}

/// In linear light, multiplied with how much it covers.
pub(super) fn in_light(colour: Color32) -> [f32; 4] {
    let [r, g, b, a] = colour.to_srgba_unmultiplied();
    let light = Color::srgb_u8(r, g, b).to_linear();
    let cover = f32::from(a) / 255.0;
    [light.red * cover, light.green * cover, light.blue * cover, cover]
}

/// Shapes as a mesh of pixels from the board's corner, upwards.
pub(super) fn mesh(shapes: &[Shape], per_point: f32) -> Mesh {
    let mut all = egui::Mesh::default();
    let mut tessellator = Tessellator::new(per_point, TessellationOptions::default(), [1, 1], vec![]);
    for shape in shapes {
        tessellator.tessellate_shape(shape.clone(), &mut all);
    }
    if all.indices.is_empty() {
        // nothing, as the renderer understands it: a triangle without a size
        all.vertices.push(egui::epaint::Vertex { color: Color32::TRANSPARENT, ..Default::default() });
        all.indices.extend([0; 3]);
    }
    let place = |v: &egui::epaint::Vertex| [v.pos.x * per_point, -v.pos.y * per_point, 0.0];
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::default())
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, all.vertices.iter().map(place).collect::<Vec<_>>())
        .with_inserted_attribute(
            Mesh::ATTRIBUTE_COLOR,
            all.vertices.iter().map(|v| in_light(v.color)).collect::<Vec<_>>(),
        )
        .with_inserted_indices(Indices::U32(all.indices))
}

#[cfg(test)]
mod tests {
    use bevy_egui::egui::{Rect, pos2};

    use super::*;

    #[test]
    fn shapes_become_corners_with_their_own_colours() {
        let field = Rect::from_min_max(pos2(1.0, 2.0), pos2(3.0, 6.0));
        let mesh = mesh(&[Shape::rect_filled(field, 0.0, Color32::WHITE)], 2.0);
        let at = mesh.attribute(Mesh::ATTRIBUTE_POSITION).and_then(|a| a.as_float3()).unwrap();
        let far = at.iter().fold([f32::MAX, f32::MIN], |m, p| [m[0].min(p[1]), m[1].max(p[1])]);
        // half a pixel of each edge fades
        assert!((far[0] + 12.0).abs() < 1.1 && (far[1] + 4.0).abs() < 1.1, "{far:?}");
        assert!(mesh.indices().is_some_and(|i| !i.is_empty()));
    }

    #[test]
    fn nothing_is_a_mesh_without_a_size() {
        let mesh = mesh(&[], 1.0);
        assert_eq!(mesh.count_vertices(), 1);
        assert_eq!(mesh.indices().map(|i| i.iter().collect::<Vec<_>>()), Some(vec![0; 3]));
    }

    #[test]
    fn a_colour_that_half_covers_is_half_as_much_light() {
        let whole = in_light(Color32::from_rgb(200, 100, 50));
        let half = in_light(Color32::from_rgba_unmultiplied(200, 100, 50, 128));
        for i in 0..4 {
            assert!((half[i] - whole[i] * 128.0 / 255.0).abs() < 0.01, "{whole:?} {half:?}");
        }
        assert_eq!(in_light(Color32::TRANSPARENT), [0.0; 4]);
    }
}
