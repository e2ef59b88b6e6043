// CxF3 core (ISO 17972-1): objects with reflectance spectra or CIELAB.

#include <algorithm>
#include <cstddef>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <pugixml.hpp>

#include "mamelon/error.h"
#include "mamelon/files.h"

#include "base/numbers.h"
#include "io/columns.h"
#include "io/data_error.h"
#include "io/measurements.h"
#include "io/row_reader.h"

namespace mamelon {
namespace detail {
namespace {

constexpr std::string_view cxf_namespace = "http://colorexchangeformat.com/CxF3-core";

// The name without its prefix.
std::string_view local(std::string_view name) {
  const auto colon = name.find(':');
  return colon == std::string_view::npos ? name : name.substr(colon + 1);
}

pugi::xml_node child(const pugi::xml_node& node, std::string_view name) {
  for (const pugi::xml_node inner : node.children()) {
    if (local(inner.name()) == name) return inner;
  }
  return {};
}

struct Specification {
  StatedViewing viewing;
  std::optional<double> start_nm;
  std::optional<double> increment_nm;
};

class CxfReader {
 public:
  CxfReader(std::string_view bytes, std::string source) : source_(std::move(source)) {
    // Without parse_doctype nothing a document type declares is ever expanded.
    if (bytes.find("<!DOCTYPE") != std::string_view::npos ||
        bytes.find("<!ENTITY") != std::string_view::npos) {
      throw DataError(source_ + ": declares a document type, which a CxF file does not need");
    }
    const auto result = document_.load_buffer(bytes.data(), bytes.size(),
                                              pugi::parse_default | pugi::parse_trim_pcdata);
    if (!result) {
      const auto offset = static_cast<std::size_t>(std::max<std::ptrdiff_t>(0, result.offset));
      const auto end = bytes.begin() + static_cast<std::ptrdiff_t>(std::min(offset, bytes.size()));
      throw DataError(source_ + ": line " +
                      std::to_string(1 + std::count(bytes.begin(), end, '\n')) +
                      ": is not well-formed XML: " + result.description());
    }
    check_root();
    read_specifications();
  }

  [[nodiscard]] std::vector<Reading> readings(const std::optional<Viewing>& given,
                                              const std::string& digest) const {
    const pugi::xml_node objects = child(resources_, "ObjectCollection");
    if (!objects) throw DataError(source_ + ": has no ObjectCollection");
    std::vector<Reading> out;
    std::set<std::string> ids;
    for (const pugi::xml_node object : objects.children()) {
      if (local(object.name()) != "Object") continue;
      const std::string id = object.attribute("Id").value();
      if (!id.empty() && !ids.insert(id).second) {
        throw DataError(source_ + ": the object Id \"" + id + "\" is used twice");
      }
      if (auto reading = read_object(object, given, digest, out.size() + 1)) {
        out.push_back(*std::move(reading));
      }
    }
    if (out.empty()) {
      throw DataError(source_ + ": has no object with a ReflectanceSpectrum or a ColorCIELab");
    }
    return out;
  }

 private:
  void check_root() {
    const pugi::xml_node root = document_.document_element();
    const std::string name = root.name();
    const auto colon = name.find(':');
    const std::string declared =
        colon == std::string::npos ? "xmlns" : "xmlns:" + name.substr(0, colon);
    if (local(name) != "CxF" || root.attribute(declared.c_str()).value() != cxf_namespace) {
      throw DataError(source_ + ": the root is not CxF in the namespace " +
                      std::string(cxf_namespace));
    }
    resources_ = child(root, "Resources");
    if (!resources_) throw DataError(source_ + ": has no Resources");
  }

  void read_specifications() {
    const pugi::xml_node list = child(resources_, "ColorSpecificationCollection");
    for (const pugi::xml_node node : list.children()) {
      if (local(node.name()) != "ColorSpecification") continue;
      Specification specification;
      const pugi::xml_node tristimulus = child(node, "TristimulusSpec");
      if (const auto illuminant = child(tristimulus, "Illuminant")) {
        specification.viewing.illuminant = illuminant.text().get();
      }
      const std::string observer = child(tristimulus, "Observer").text().get();
      if (observer == "2_Degree") specification.viewing.observer = Observer::deg2;
      if (observer == "10_Degree") specification.viewing.observer = Observer::deg10;
      const pugi::xml_node range = child(child(node, "MeasurementSpec"), "WavelengthRange");
      specification.start_nm = parse_number(range.attribute("StartWL").value());
      specification.increment_nm = parse_number(range.attribute("Increment").value());
      const std::string id = node.attribute("Id").value();
      if (!specifications_.emplace(id, specification).second) {
        throw DataError(source_ + ": the ColorSpecification \"" + id + "\" is given twice");
      }
    }
  }

  [[nodiscard]] const Specification& specification_of(const pugi::xml_node& value,
                                                      const std::string& where) const {
    const std::string id = value.attribute("ColorSpecification").value();
    const auto found = specifications_.find(id);
    if (found == specifications_.end()) {
      throw DataError(where + "refers to the ColorSpecification \"" + id +
                      "\", which the file does not have");
    }
    return found->second;
  }

  [[nodiscard]] double number(const pugi::xml_node& node, const std::string& where) const {
    const auto value = parse_number(node.text().get());
    if (!value) {
      throw DataError(where + "expected a finite number in " + std::string(local(node.name())) +
                      ", got \"" + std::string(node.text().get()).substr(0, 40) + "\"");
    }
    return *value;
  }

  [[nodiscard]] Reflectance spectrum(const pugi::xml_node& node, const std::string& where) const {
    const Specification& specification = specification_of(node, where);
    const auto own = parse_number(node.attribute("StartWL").value());
    const auto start = own ? own : specification.start_nm;
    if (!start || !specification.increment_nm) {
      throw DataError(where +
                      "the spectrum has no start wavelength and increment in its WavelengthRange");
    }
    std::istringstream words(node.text().get());
    std::vector<double> values;
    std::vector<double> nm;
    for (std::string word; words >> word;) {
      const auto value = parse_number(word);
      // Dark noise may leave a little less than nothing.
      if (!value || *value < -0.1 || *value > 3) {
        throw DataError(where + "expected a reflectance factor from 0 to 3, got \"" +
                        word.substr(0, 40) + "\"");
      }
      nm.push_back(*start + *specification.increment_nm * static_cast<double>(values.size()));
      values.push_back(std::max(*value, 0.0));
    }
    Reflectance curve(grid_of(nm, where + "ReflectanceSpectrum"), std::move(values));
    as_data_error(source_ + ": ", [&] {
      check_grid(curve.grid());
      check_reflectance(curve, "a ReflectanceSpectrum");
    });
    return curve;
  }

  [[nodiscard]] std::optional<Reading> read_object(const pugi::xml_node& object,
                                                   const std::optional<Viewing>& given,
                                                   const std::string& digest,
                                                   std::size_t row) const {
    const std::string name = object.attribute("Name").value();
    const std::string id = object.attribute("Id").value();
    const std::string where = source_ + ": object \"" + (name.empty() ? id : name) + "\": ";
    const pugi::xml_node values = child(object, "ColorValues");
    TableRow found;
    found.line = row;
    found.label = !name.empty() ? name : !id.empty() ? id : "reading " + std::to_string(row);
    if (const auto node = child(values, "ReflectanceSpectrum")) {
      const Viewing viewing = settle_viewing(
          given ? StatedViewing{} : specification_of(node, where).viewing, given, false, source_);
      found.curve = spectrum(node, where);
      found.lab = to_lab(*found.curve, viewing);
      return reading_of(found, viewing, "read_cxf", digest);
    }
    if (const auto node = child(values, "ColorCIELab")) {
      const Viewing viewing =
          settle_viewing(specification_of(node, where).viewing, given, true, source_);
      found.lab = {number(child(node, "L"), where), number(child(node, "A"), where),
                   number(child(node, "B"), where)};
      if (found.lab.l < 0 || found.lab.l > 150) {
        throw DataError(where + "expected L from 0 to 150, got " + format_short(found.lab.l, 6));
      }
      return reading_of(found, viewing, "read_cxf", digest);
    }
    return {};
  }

  std::string source_;
  pugi::xml_document document_;
  pugi::xml_node resources_;
  std::map<std::string, Specification> specifications_;
};

void add_text(pugi::xml_node parent, const char* name, const std::string& text) {
  parent.append_child(name).text().set(text.c_str());
}

void add_specification(pugi::xml_node list, const Viewing& viewing,
                       const std::optional<Grid>& grid) {
  pugi::xml_node node = list.append_child("cc:ColorSpecification");
  node.append_attribute("Id") = grid ? "spectra" : "colours";
  pugi::xml_node tristimulus = node.append_child("cc:TristimulusSpec");
  add_text(tristimulus, "cc:Illuminant", viewing.illuminant.name());
  add_text(tristimulus, "cc:Observer",
           viewing.observer == Observer::deg2 ? "2_Degree" : "10_Degree");
  add_text(tristimulus, "cc:Method", "E308_1nm");
  pugi::xml_node measurement = node.append_child("cc:MeasurementSpec");
  add_text(measurement, "cc:MeasurementType",
           grid ? "Spectrum_Reflectance" : "Colorimetric_Reflectance");
  add_text(measurement.append_child("cc:GeometryChoice"), "cc:UnknownGeometry", "not stated");
  if (!grid) return;
  pugi::xml_node range = measurement.append_child("cc:WavelengthRange");
  range.append_attribute("StartWL") = format_number(grid->first_nm).c_str();
  range.append_attribute("Increment") = format_number(grid->step_nm).c_str();
}

}  // namespace

std::vector<Reading> parse_cxf(std::string_view bytes, const std::string& source,
                               const std::optional<Viewing>& given) {
  return CxfReader(bytes, source).readings(given, sha256_hex(bytes));
}

}  // namespace detail

std::string to_cxf(std::span<const Reading> readings) {
  using detail::format_number;
  if (readings.empty()) throw ArgumentError("to_cxf: there is no reading to write");
  const Viewing& viewing = readings.front().viewing;
  std::optional<Grid> grid;
  for (const Reading& reading : readings) {
    check_same_viewing(viewing, reading.viewing, "to_cxf");
    if (!reading.curve) continue;
    if (grid && *grid != reading.curve->grid()) {
      throw ArgumentError("to_cxf: curves on unlike grids cannot stand in one file");
    }
    grid = reading.curve->grid();
  }
  pugi::xml_document document;
  pugi::xml_node declaration = document.append_child(pugi::node_declaration);
  declaration.append_attribute("version") = "1.0";
  declaration.append_attribute("encoding") = "UTF-8";
  pugi::xml_node root = document.append_child("cc:CxF");
  root.append_attribute("xmlns:cc") = std::string(detail::cxf_namespace).c_str();
  // The format asks for a date; a file without a clock in it is the same every time.
  const std::string date = "1970-01-01T00:00:00Z";
  pugi::xml_node information = root.append_child("cc:FileInformation");
  detail::add_text(information, "cc:Creator", "mamelon " + std::string(library_version()));
  detail::add_text(information, "cc:CreationDate", date);
  pugi::xml_node resources = root.append_child("cc:Resources");
  pugi::xml_node objects = resources.append_child("cc:ObjectCollection");
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const Reading& reading = readings[i];
    pugi::xml_node object = objects.append_child("cc:Object");
    object.append_attribute("ObjectType") = "Target";
    object.append_attribute("Name") = reading.label.c_str();
    object.append_attribute("Id") = std::to_string(i + 1).c_str();
    detail::add_text(object, "cc:CreationDate", date);
    pugi::xml_node values = object.append_child("cc:ColorValues");
    if (reading.curve) {
      std::string text;
      for (const double value : reading.curve->values()) {
        text += (text.empty() ? "" : " ") + format_number(value);
      }
      pugi::xml_node spectrum = values.append_child("cc:ReflectanceSpectrum");
      spectrum.append_attribute("ColorSpecification") = "spectra";
      spectrum.append_attribute("StartWL") = format_number(grid->first_nm).c_str();
      spectrum.text().set(text.c_str());
    }
    pugi::xml_node lab = values.append_child("cc:ColorCIELab");
    lab.append_attribute("ColorSpecification") = "colours";
    detail::add_text(lab, "cc:L", format_number(reading.lab.value.l));
    detail::add_text(lab, "cc:A", format_number(reading.lab.value.a));
    detail::add_text(lab, "cc:B", format_number(reading.lab.value.b));
  }
  pugi::xml_node list = resources.append_child("cc:ColorSpecificationCollection");
  if (grid) detail::add_specification(list, viewing, grid);
  detail::add_specification(list, viewing, {});
  std::ostringstream out;
  document.save(out, "  ");
  return out.str();
}

}  // namespace mamelon
