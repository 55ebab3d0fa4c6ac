// Ink: shapes whose colours are in their corners, already multiplied with how much they cover.

#import bevy_sprite::mesh2d_vertex_output::VertexOutput

@fragment
fn fragment(mesh: VertexOutput) -> @location(0) vec4<f32> {
#ifdef VERTEX_COLORS
    return mesh.color;
#else
    return vec4(0.0);
#endif
}
