// The fitted correction as an ICC profile.

#include "mamelon/profile.h"

#include "mamelon/layout.h"

#include "bindings.h"
#include "define.h"
#include "photos.h"

namespace mamelon::python {

void bind_profile(py::module_& m) {
  define_long(
      m, "input_profile",
      [](const Bytes& photo_file, const std::string& source, const std::shared_ptr<FittedCard>& fit,
         const std::string& card_name) {
        const auto bytes = input_profile(photo_file.view(), source, fit->fit, card_name).bytes;
        return Bytes{{bytes.begin(), bytes.end()}};
      },
      py::arg("photo_file"), py::arg("source"), py::arg("fit"), py::arg("card_name"),
      R"(An ICC.1 version 4 input profile: from the codes of the file that `fit` was made in to CIELAB.

It is what the fit does at the card's centre: the evening out of the light over the photo is not in
it. Colours are relative to the white of the fit's viewing, adapted to D50 by Bradford's transform
where that is another. Raises ArgumentError for a viewing of the 10° observer or for a photo whose
own profile is made of tables, and what decode_photo raises.)");
}

}  // namespace mamelon::python
