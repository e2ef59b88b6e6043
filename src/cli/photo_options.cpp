#include "cli/photo_options.h"

#include <filesystem>
#include <span>

#include "cli/arguments.h"

namespace mamelon::cli {
void add_photo_options(CLI::App& verb, PhotoOptionsText& options) {
  add_value(verb, "--card", "FILE", options.card, "Reference card in the photo (JSON document)");
  add_viewing_options(verb, options.viewing);
  add_value(verb, "--corners", "X,Y×4", options.corners,
            "Corners of the card in pixels (upper left, upper right, lower right, lower "
            "left) when its fiducials cannot be seen");
  add_value(verb, "--exclude", "NAME", options.exclude,
            "A patch of the card to leave out; repeatable");
  add_value(verb, "--blank-white", "FILE", options.blank_white,
            "A photo of a blank white field by the same camera, lens and light: shows how "
            "uneven the light is");
  add_value(verb, "--method", "NAME", options.method,
            "Colour correction; the best that card and photo allow when not given");
  verb.add_flag("--camera-rendering", options.camera_rendering,
                "The photo has a camera's own tone curve: learn it from the card's greys");
}

CardFitOptions fit_options(const PhotoOptionsText& options) {
  CardFitOptions fit;
  if (!options.method.empty())
    fit.method = word_argument<CorrectionMethod>("--method", options.method);
  if (fit.method == CorrectionMethod::tabs) {
    throw ArgumentError("--method: tabs goes with a --tab-box for each tab and no card");
  }
  if (!options.corners.empty()) {
    const auto at = list_argument("--corners", options.corners, 8);
    fit.corners_px = {PointPx{at[0], at[1]}, PointPx{at[2], at[3]}, PointPx{at[4], at[5]},
                      PointPx{at[6], at[7]}};
  }
  fit.exclude = options.exclude;
  return fit;
}

CasePhoto photo_argument(const std::string& file, bool camera_rendering) {
  const std::string content = read_file(file, limits::photo_bytes);
  const auto bytes = std::as_bytes(std::span(content));
  return {.file = GivenFile({bytes.begin(), bytes.end()}),
          .source = std::filesystem::path(file).filename().string(),
          .camera_rendering = camera_rendering};
}

}  // namespace mamelon::cli
