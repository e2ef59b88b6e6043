"""A physical simulation of tooth photos with their truth, and the studies made with it.

One way through: `spectra` (data and colour) → `canvas` (the picture plane) → `card_art`, `mouth`
(what is painted) → `camera` (lens, sensor, tone) → `files` (bytes) → `photo` (one shot and its
truth). On top of it `demo_photos` and `bad_photos` make the pictures in the tree, `materials` and
`frame_cards` the invented tabs, pastes, floors and framed cards, and `study_capture` measures how
near the library comes to the truth with the cameras and lights of `held_out`.

What is simulated: spectral reflectance, colour and unevenness of the light, spectral sensitivities,
tilt, lens blur, glare that clips, flare, photon and read noise, white balance, a camera matrix,
a tone curve, JPEG. What is not: Bayer interpolation, lens distortion and vignetting beyond the
uneven light, depth (teeth and card lie in one plane), translucency that moves light between zones,
sharpening, noise reduction and local tone mapping of real cameras. Errors on real photos of cameras
with such processing are larger than those found here.
"""
