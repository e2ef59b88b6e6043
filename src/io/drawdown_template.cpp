// The table of drawdowns to fill in.

#include "mamelon/error.h"
#include "mamelon/paste_report.h"

#include "base/numbers.h"

namespace mamelon {

std::string drawdown_template(const DrawdownTemplate& wanted) {
  if (wanted.thicknesses_mm.empty() || wanted.repeats < 1 || wanted.repeats > 100) {
    throw ArgumentError("a template needs a thickness and 1 to 100 repeats");
  }
  std::string text =
      "# Fill in: one row a reading. Rows without a specimen are the bare backings; value of them\n"
      "# is external as an instrument reads them in air, internal as seen from inside the paste.\n"
      "# geometry: 45/0, d:8 excluded, d:8 included or transmittance (all that passes in air: "
      "leave\n"
      "# backing and contact empty). contact: contact (through a drop of liquid) or air gap;\n"
      "# lower_face smooth (polished) or rough (ground) counts in air only.\n"
      "# lit_mm, seen_mm: diameters that the instrument lights and sees, or endless; empty: "
      "unknown.\n"
      "specimen,thickness_mm,thickness_sd_mm,backing,geometry,contact,value,lower_face,lit_mm,"
      "seen_mm";
  std::size_t cells = 3;
  if (wanted.grid) {
    check_grid(*wanted.grid);
    cells = wanted.grid->count;
    for (std::size_t i = 0; i < cells; ++i) {
      text += "," + detail::format_short(wanted.grid->wavelength_nm(i));
    }
  } else {
    text += ",L,a,b";
  }
  text += "\n";
  const std::string empty(cells, ',');
  const auto row = [&](const std::string& begin, const std::string& geometry, const char* contact,
                       const char* value) {
    for (int i = 0; i < wanted.repeats; ++i) {
      text += begin + "," + geometry + "," + contact + "," + value + ",,," + empty + "\n";
    }
  };
  for (const char* backing : {"black", "white"}) {
    row(std::string(",,,") + backing, wanted.geometry, "", "external");
  }
  int specimen = 0;
  for (const double mm : wanted.thicknesses_mm) {
    ++specimen;
    const std::string begin =
        "disc " + std::to_string(specimen) + "," + detail::format_fixed(mm, 2) + ",0.02,";
    for (const char* backing : {"black", "white"}) {
      row(begin + backing, wanted.geometry, "contact", "");
    }
    if (wanted.transmittance) row(begin, "transmittance", "", "");
  }
  return text;
}

}  // namespace mamelon
