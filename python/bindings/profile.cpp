// The fitted correction as an ICC profile.

#include "mamelon/profile.h"

#include "mamelon/layout.h"

#include "bindings.h"
#include "photos.h"
#include "run.h"

namespace mamelon::python {

void bind_profile(py::module_& m) {
  m.def(
      "input_profile",
      [](const py::bytes& photo_file, const std::string& source,
         const std::shared_ptr<FittedCard>& fit, const std::string& card_name) {
        const InputProfile profile =
            interruptibly([text = static_cast<std::string>(photo_file), source, fit, card_name] {
              return input_profile(std::as_bytes(std::span(text)), source, fit->fit, card_name);
            });
        return py::bytes(reinterpret_cast<const char*>(profile.bytes.data()), profile.bytes.size());
      },
      py::arg("photo_file"), py::arg("source"), py::arg("fit"), py::arg("card_name"),
      R"(input_profile(photo_file: bytes, source: str, fit: CardFit, card_name: str) -> bytes

An ICC.1 version 4 input profile: from the codes of the file that `fit` was made in to CIELAB.

It is what the fit does at the card's centre: the evening out of the light over the photo is not in
it. Colours are relative to the white of the fit's viewing, adapted to D50 by Bradford's transform
where that is another. Raises ArgumentError for a viewing of the 10° observer or for a photo whose
own profile is made of tables, and what decode_photo raises.)");
}

}  // namespace mamelon::python
