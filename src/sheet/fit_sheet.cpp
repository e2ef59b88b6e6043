// The technician's sheet for the fit of a paste.

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "mamelon/sheet.h"

#include "base/find.h"
#include "base/numbers.h"
#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon {
namespace {

using detail::escaped;
using detail::format_fixed;
using detail::number_text;

// One line of a plot with the band around it.
struct Line {
  std::vector<double> values;
  std::vector<double> spread;  // half width; empty: no band
  bool dashed = false;
};

class CurvePlot {
 public:
  CurvePlot(const Grid& grid, double highest) : grid_(grid), highest_(highest) {}

  [[nodiscard]] std::string drawn(const std::vector<Line>& lines, const std::string& name,
                                  std::string_view description) const {
    std::string out =
        "<svg style=\"max-width:30rem\" viewBox=\"0 0 370 210\" role=img aria-label=\"" +
        escaped(description, 300) + "\">";
    for (int i = 0; i <= 4; ++i) {
      const double value = highest_ * i / 4;
      out += "<line x1=44 x2=352 y1=" + px(y(value)) + " y2=" + px(y(value)) +
             " stroke=\"var(--line)\" /><text class=soft font-size=12 text-anchor=end x=40 y=" +
             px(y(value) + 4) + ">" + detail::format_short(value, 3) + "</text>";
    }
    for (int nm = static_cast<int>(std::ceil(grid_.first_nm / 50)) * 50; nm <= grid_.last_nm();
         nm += 50) {
      out += "<text class=soft font-size=12 text-anchor=middle x=" + px(x(nm)) + " y=190>" +
             std::to_string(nm) + "</text>";
    }
    for (const Line& line : lines) out += band(line) + path(line);
    return out + "<text font-size=12 x=44 y=12>" + escaped(name) +
           "</text><text class=soft font-size=12 text-anchor=end x=352 y=206>nm</text></svg>";
  }

 private:
  [[nodiscard]] static std::string px(double value) { return format_fixed(value, 1); }
  [[nodiscard]] double x(double nm) const {
    return 44 + 308 * (nm - grid_.first_nm) / (grid_.last_nm() - grid_.first_nm);
  }
  [[nodiscard]] double y(double value) const {
    return 174 - 154 * std::clamp(value / highest_, 0.0, 1.0);
  }
  [[nodiscard]] std::string points(const std::vector<double>& values, bool back) const {
    std::string out;
    for (std::size_t i = 0; i < values.size(); ++i) {
      const std::size_t at = back ? values.size() - 1 - i : i;
      out += px(x(grid_.wavelength_nm(at))) + "," + px(y(values[at])) + " ";
    }
    return out;
  }
  [[nodiscard]] std::string path(const Line& line) const {
    return std::string("<polyline fill=none ") +
           (line.dashed ? "stroke=\"var(--ink)\" stroke-width=1 stroke-dasharray=\"4 4\""
                        : "stroke=\"var(--mark)\" stroke-width=1.6") +
           " points=\"" + points(line.values, false) + "\" />";
  }
  [[nodiscard]] std::string band(const Line& line) const {
    if (line.spread.empty()) return "";
    std::vector<double> low = line.values;
    std::vector<double> high = line.values;
    for (std::size_t i = 0; i < low.size(); ++i) {
      low[i] -= line.spread[i];
      high[i] += line.spread[i];
    }
    return "<polygon fill=\"var(--mark)\" opacity=.18 points=\"" + points(high, false) +
           points(low, true) + "\" />";
  }

  Grid grid_;
  double highest_;
};

std::vector<double> interval(const PerMm& values, const std::vector<double>& ln_sd) {
  std::vector<double> half;
  for (std::size_t i = 0; i < values.size(); ++i) half.push_back(1.96 * ln_sd[i] * values[i]);
  return half;
}

double rounded_up(double value) {
  const double decade = std::pow(10, std::floor(std::log10(value)));
  for (const double step : {1.0, 2.0, 3.0, 4.0, 6.0, 8.0}) {
    if (value <= step * decade) return step * decade;
  }
  return 10 * decade;
}

std::string constant_plot(const PerMm& values, const std::vector<double>& ln_sd,
                          const std::string& name) {
  const double highest = *std::max_element(values.values().begin(), values.values().end());
  return CurvePlot(values.grid(), rounded_up(1.1 * highest))
      .drawn({{values.values(), interval(values, ln_sd)}}, name,
             name + " over the wavelength, with its 95 % interval");
}

std::string constants(const FitReport& report) {
  const PasteFit& fit = report.transport;
  return "<section class=full><h2>Constants by radiative transfer</h2><figure class=plots><div>" +
         constant_plot(fit.absorption, fit.ln_absorption_sd, "absorption µa per mm") +
         constant_plot(fit.scattering, fit.ln_scattering_sd, "reduced scattering µs′ per mm") +
         "</div><figcaption>Shaded: 95 % interval. Anisotropy g " +
         format_fixed(fit.anisotropy, 2) + " ± " + format_fixed(fit.anisotropy_sd, 2) +
         (fit.anisotropy_fitted ? ", fitted to the drawdowns."
                                : ", assumed: the drawdowns do not show it.") +
         " Refractive index " + format_fixed(fit.refractive_index, 2) +
         ", as stated.</figcaption></figure></section>";
}

std::string readings(const FitReport& report) {
  const bool spectral = std::none_of(report.drawdowns.begin(), report.drawdowns.end(),
                                     [](const Drawdown& d) { return d.measured_lab.has_value(); });
  if (!spectral) return "";
  std::vector<Line> lines;
  for (std::size_t i = 0; i < report.drawdowns.size(); ++i) {
    const std::vector<double>& measured = report.drawdowns[i].measured.values();
    std::vector<double> fitted = measured;
    for (std::size_t k = 0; k < fitted.size(); ++k) {
      fitted[k] -= report.transport.residual[i][k];
    }
    lines.push_back({measured, {}});
    lines.push_back({fitted, {}, true});
  }
  return "<section class=full><h2>Readings and fit</h2><figure>" +
         CurvePlot(report.paste.absorption.grid(), 1)
             .drawn(lines, "reflectance", "measured and fitted reflectances over the wavelength") +
         "<figcaption>Full: as read. Dashed: as fitted. Root mean square of what is left " +
         format_fixed(100 * report.transport.residual_rms, 2) + " %; chi-square " +
         format_fixed(report.transport.chi_square, 0) + " for " +
         format_fixed(report.transport.degrees_of_freedom, 0) +
         " degrees of freedom.</figcaption></figure></section>";
}

std::string specimens(const FitReport& report) {
  std::string out =
      "<section><h2>Specimens</h2><table><thead><tr><th scope=col>Specimen<th scope=col "
      "class=n>Measured mm<th scope=col class=n>Fitted mm</tr></thead><tbody>";
  for (const SpecimenThickness& specimen : report.transport.thickness) {
    const auto stated = detail::find_by(report.drawdowns, specimen.specimen, &Drawdown::specimen);
    out += "<tr><th scope=row>" + escaped(specimen.specimen, 40) + "<td class=n>" +
           format_fixed(stated->thickness_mm, 2) + "<td class=n>" +
           format_fixed(specimen.thickness_mm, 3) + " <span class=sd>± " +
           format_fixed(specimen.sd_mm, 3) + "</span></tr>";
  }
  return out + "</tbody></table></section>";
}

Lab colour_over(const FitReport& report, double floor) {
  const Grid grid = report.paste.absorption.grid();
  const Stack stack{Reflectance(grid, std::vector<double>(grid.count, floor)),
                    {{report.paste, report.opacity.thickness_mm}},
                    false};
  return to_lab(predict(stack, Engine::transport), report.viewing);
}

std::string translucency(const FitReport& report) {
  const Opacity& opacity = report.opacity;
  const Lab black = colour_over(report, 0);
  const Lab white = colour_over(report, 1);
  return "<section><h2>Translucency of " + format_fixed(opacity.thickness_mm, 1) + " mm</h2><p>" +
         detail::swatch_pair(black, white, report.viewing,
                             "the paste over black, left, and over white, right") +
         " over black L*, a*, b* " + detail::lab_text(black) + "; over white " +
         detail::lab_text(white) +
         "</p><table><tbody><tr><th scope=row>Translucency parameter "
         "ΔE<sub>00</sub><td class=n>" +
         number_text(opacity.tp00, 1) + "</tr><tr><th scope=row>Contrast ratio<td class=n>" +
         number_text(opacity.contrast_ratio, 2) +
         "</tr><tr><th scope=row>The floor no longer shows through at<td class=n>" +
         (opacity.infinite_mm
              ? format_fixed(*opacity.infinite_mm, 1) + " mm" +
                    (opacity.infinite_95_mm
                         ? " (95 %: " + format_fixed((*opacity.infinite_95_mm)[0], 1) + " to " +
                               format_fixed((*opacity.infinite_95_mm)[1], 1) + ")"
                         : std::string())
              : std::string("more than 30 mm")) +
         "</tr></tbody></table></section>";
}

std::vector<std::string> advice(const FitReport& report) {
  std::vector<std::string> out;
  const PasteFit& fit = report.transport;
  if (fit.scattering_undetermined) {
    out.emplace_back("make a thinner specimen, of 0.5 to 1 mm, and read it over the same backings");
  }
  if (!fit.anisotropy_fitted) {
    out.emplace_back(
        "a second thickness, half or twice the first, would determine the "
        "anisotropy g and narrow the intervals of thin layers");
  }
  out.push_back("predictions hold for layers of " + detail::format_short(fit.thinnest_mm) + " to " +
                detail::format_short(fit.thickest_mm) +
                " mm; outside them they are extrapolated and marked so");
  out.push_back("a predicted reflectance is good to ± " +
                format_fixed(196 * fit.reflectance_sd, 1) +
                " % (95 %, 1 mm) by radiative transfer, ± " +
                format_fixed(196 * report.kubelka_munk.reflectance_sd, 1) + " % by two fluxes");
  return out;
}

}  // namespace

std::string sheet_html(const FitReport& report) {
  const Opacity& opacity = report.opacity;
  std::string out = detail::sheet_begin(
      report.label.empty() ? "Fit of paste " + report.paste.name : report.label,
      "Optical constants from drawdowns, role " + std::string(to_string(report.paste.role)) +
          ", viewing " + to_string(report.viewing));
  out += "<div class=grid><section class=full><p class=answer>";
  if (report.transport.scattering_undetermined) {
    out += "Not determined: the specimens are too thick for the backings to show.";
  } else {
    out += "Fitted from " + std::to_string(report.drawdowns.size()) +
           " readings: " + format_fixed(opacity.thickness_mm, 1) +
           " mm shows its floor by ΔE<sub>00</sub> " + format_fixed(opacity.tp00, 1) + ", " +
           (opacity.infinite_mm ? format_fixed(*opacity.infinite_mm, 1) + " mm hides it."
                                : std::string("no depth up to 30 mm hides it."));
  }
  out += "</p></section>";
  if (!report.warnings.empty()) {
    out += "<section class=\"full warn\"><h2>Warnings</h2>" + detail::bullets(report.warnings) +
           "</section>";
  }
  out += constants(report) + readings(report) + specimens(report) + translucency(report) +
         "<section class=full><h2>What to do</h2>" + detail::bullets(advice(report)) +
         "</section><section class=full><h2>Cautions</h2>" +
         detail::bullets({"Cured material is described: cure the specimens as the maker's "
                          "instructions say, and read them as you place them, wet or dry.",
                          "Batches differ: measure anew for a new batch.",
                          "Curing light can hurt eyes and heat tissue; follow the lamp's and the "
                          "paste's instructions and local rules."}) +
         "</section></div>";
  return out + detail::sheet_end(report.transport.provenance.digest);
}

}  // namespace mamelon
