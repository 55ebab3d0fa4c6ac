//! What moves in the line either side of the tee, as a ribbon along it and numbers for `assets/shaders/flow.wgsl`.

use bevy::asset::{RenderAssetUsages, uuid_handle};
use bevy::mesh::{Indices, MeshVertexBufferLayoutRef, PrimitiveTopology};
use bevy::prelude::*;
use bevy::render::render_resource::{AsBindGroup, RenderPipelineDescriptor, SpecializedMeshPipelineError};
use bevy::shader::{Shader, ShaderRef};
use bevy::sprite_render::{AlphaMode2d, Material2d, Material2dKey};
use bevy_egui::egui::{Pos2, Vec2 as Way};

use super::glass::{self, colour};
use super::{Flow, ink};
use crate::app::tokens::LIGHT;

/// The shader; it is in the executable.
pub(super) const SHADER: Handle<Shader> = uuid_handle!("2f7c90be-0d2a-4c0f-8b5e-5a0a4d2d4f03");

/// Half the width of the ribbon, units of the drawing.
const HALF: f32 = 6.5;

/// What moves.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug, Default, PartialEq)]
pub(super) struct FlowMaterial {
    #[uniform(0)]
    fuel: Vec4,
    #[uniform(0)]
    light: Vec4,
    #[uniform(0)]
    edge: Vec4,
    #[uniform(0)]
    sheet: Vec4,
    #[uniform(0)]
    ink: Vec4,
    #[uniform(0)]
    size: Vec4,
    #[uniform(0)]
    state: Vec4,
    #[uniform(0)]
    what: Vec4,
    #[uniform(0)]
    more: Vec4,
}

impl Material2d for FlowMaterial {
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
        ink::multiplied(descriptor);
        Ok(())
    }
}

impl FlowMaterial {
    /// Of a flow that is drawn at so many pixels a point.
    pub(super) fn of(flow: &Flow, per_point: f32) -> Self {
        let t = flow.tokens;
        let mut material = Self {
            light: colour(LIGHT),
            sheet: colour(t.sheet),
            ink: colour(t.ink),
            size: Vec4::new(HALF, flow.clear, flow.arrows.max(1.0), 1.0 / (flow.k * per_point)),
            more: Vec4::new(0.0, 1.0, 0.0, 0.0),
            ..Self::default()
        };
        let Some(picture) = &flow.picture else { return material };
        let seen = glass::Seen::of(picture, t);
        material.fuel = seen.fuel;
        material.edge = seen.edge;
        material.what = seen.what;
        material.more = Vec4::new(seen.to, 0.0, 0.0, 0.0);
        let smear = (flow.state.last_m.abs() * flow.a_metre) as f32;
        material.state = Vec4::new(picture.gas, flow.gone(), smear, flow.state.age_s as f32);
        material
    }
}

/// A ribbon along a way, in pixels from the board's corner, upwards; its `uv` as the shader wants it.
pub(super) fn ribbon(way: &[(Pos2, f32)], k: f32, per_point: f32) -> Mesh {
    let (mut at, mut uv, mut corners) = (vec![], vec![], vec![]);
    for pair in way.windows(2) {
        let ((a, from), (b, to)) = (pair[0], pair[1]);
        let along = (b - a).normalized();
        // at a corner both stretches reach to the outer edge
        let more = HALF * k;
        let across = Way::new(along.y, -along.x) * HALF * k;
        let first = at.len() as u32;
        for (p, s) in [(a - along * more, from - HALF), (b + along * more, to + HALF)] {
            for side in [1.0, -1.0] {
                let corner = (p + across * side) * per_point;
                at.push([corner.x, -corner.y, 0.0]);
                uv.push([s, side]);
            }
        }
        corners.extend([first, first + 1, first + 2, first + 1, first + 3, first + 2]);
    }
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::default())
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, at)
        .with_inserted_attribute(Mesh::ATTRIBUTE_UV_0, uv)
        .with_inserted_indices(Indices::U32(corners))
}
