// CxF3 core (ISO 17972-1): objects with reflectance spectra or CIELAB.

#include <algorithm>
#include <array>
#include <cstddef>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <sstream>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <pugixml.hpp>

#include "mamelon/difference.h"
#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/limits.h"

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

// What the tree of an XML document takes is told by its elements, texts and attributes, before it
// is built.
[[noreturn]] void refuse_size(const std::string& source) {
  throw DataError(source + ": has more than " + std::to_string(limits::cxf_bytes >> 20U) +
                  " MiB or " + std::to_string(limits::cxf_parts / 1'000'000) +
                  " million elements and attributes; write several files");
}

void check_parts(std::string_view bytes, const std::string& source) {
  const auto parts = static_cast<std::size_t>(
      std::count_if(bytes.begin(), bytes.end(), [](char c) { return c == '<' || c == '='; }));
  if (parts > limits::cxf_parts) refuse_size(source);
}

struct Specification {
  StatedViewing viewing;
  std::optional<double> start_nm;
  std::optional<double> increment_nm;
  std::string instrument;
  std::string geometry;
};

// The geometry of a measurement, or the kind of a measurement that is no reflectance, in words.
std::string geometry_of(const pugi::xml_node& measurement) {
  std::string type = child(measurement, "MeasurementType").text().get();
  if (type.ends_with("_TotalTransmittance")) return "transmittance";
  if (!type.empty() && !type.ends_with("_Reflectance")) return type;
  const pugi::xml_node choice = child(measurement, "GeometryChoice");
  if (const auto angle = child(choice, "SingleAngle")) {
    const auto from = parse_number(child(angle, "IlluminationAngle").text().get());
    const auto to = parse_number(child(angle, "MeasurementAngle").text().get());
    return from && to ? format_short(*from) + "/" + format_short(*to) : "";
  }
  if (const auto sphere = child(choice, "SphereGeometry")) {
    const auto inner = child(sphere, "SphereGeometryConfiguration");
    return "d:8 " + std::string((inner ? inner : sphere).text().get());
  }
  return {};
}

constexpr std::string_view no_date = "1970-01-01T00:00:00Z";

// Circumstances of a reading, as tags of its object.
struct Tag {
  const char* name;
  std::string TableRow::*value;
};
constexpr std::array tags{Tag{"Zone", &TableRow::zone}, Tag{"Operator", &TableRow::operator_name},
                          Tag{"Day", &TableRow::day}, Tag{"Instrument", &TableRow::instrument}};

void read_tags(const pugi::xml_node& object, TableRow& row) {
  for (const pugi::xml_node node : child(object, "TagCollection").children()) {
    const std::string_view name = node.attribute("Name").value();
    for (const Tag& tag : tags) {
      if (local(node.name()) == "Tag" && name == tag.name)
        row.*tag.value = node.attribute("Value").value();
    }
  }
  const std::string_view made = child(object, "CreationDate").text().get();
  constexpr std::size_t date = 10;
  if (row.day.empty() && made != no_date) row.day = made.substr(0, date);
}

class CxfReader {
 public:
  CxfReader(std::string_view bytes, std::string source) : source_(std::move(source)) {
    // Without parse_doctype nothing a document type declares is ever expanded.
    if (bytes.find("<!DOCTYPE") != std::string_view::npos ||
        bytes.find("<!ENTITY") != std::string_view::npos) {
      throw DataError(source_ + ": declares a document type, which a CxF file does not need");
    }
    check_parts(bytes, source_);
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

  void each_row(const std::optional<Viewing>& given, const RowSink& sink) const {
    each_object([&](const pugi::xml_node& object, std::size_t row) {
      return read_object(object, given, row, sink);
    });
  }

  void each_text(const std::function<void(const CxfText& object)>& sink) const {
    each_object([&](const pugi::xml_node& object, std::size_t) {
      std::optional<CxfText> text = text_of(object);
      if (text) sink(*text);
      return text.has_value();
    });
  }

 private:
  // `take` says whether it found a colour; it is given how many objects have had one, this one too.
  void each_object(
      const std::function<bool(const pugi::xml_node& object, std::size_t row)>& take) const {
    const pugi::xml_node objects = child(resources_, "ObjectCollection");
    if (!objects) throw DataError(source_ + ": has no ObjectCollection");
    std::set<std::string_view> ids;
    std::size_t rows = 0;
    for (const pugi::xml_node object : objects.children()) {
      if (local(object.name()) != "Object") continue;
      const std::string_view id = object.attribute("Id").value();
      if (!id.empty() && !ids.insert(id).second) {
        throw DataError(source_ + ": the object Id \"" + std::string(id) + "\" is used twice");
      }
      if (take(object, rows + 1)) ++rows;
    }
    if (rows == 0) {
      throw DataError(source_ + ": has no object with a ReflectanceSpectrum or a ColorCIELab");
    }
  }

  [[nodiscard]] std::optional<CxfText> text_of(const pugi::xml_node& object) const {
    CxfText out;
    out.name = object.attribute("Name").value();
    if (out.name.empty()) out.name = object.attribute("Id").value();
    out.place = "object \"" + out.name.substr(0, 60) + "\"";
    const pugi::xml_node values = child(object, "ColorValues");
    pugi::xml_node value;
    for (const char* name :
         {"ReflectanceSpectrum", "TransmittanceSpectrum", "TotalTransmittanceSpectrum"}) {
      if (!value) value = child(values, name);
    }
    const bool is_spectrum = static_cast<bool>(value);
    if (!is_spectrum) value = child(values, "ColorCIELab");
    if (!value) return {};
    for (const pugi::xml_node node : child(object, "TagCollection").children()) {
      if (local(node.name()) != "Tag") continue;
      out.tags.emplace_back(node.attribute("Name").value(), node.attribute("Value").value());
    }
    const Specification& specification = specification_of(value, source_ + ": " + out.place + ": ");
    out.geometry = specification.geometry;
    out.viewing = specification.viewing;
    if (!is_spectrum) {
      for (const char* axis : {"L", "A", "B"}) {
        out.lab.emplace_back(child(value, axis).text().get());
      }
      return out;
    }
    const auto own = parse_number(value.attribute("StartWL").value());
    out.start_nm = own ? own : specification.start_nm;
    out.increment_nm = specification.increment_nm;
    std::istringstream words(value.text().get());
    for (std::string word; words >> word;) out.spectrum.push_back(word);
    return out;
  }

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
      specification.geometry = geometry_of(child(node, "MeasurementSpec"));
      specification.instrument =
          child(child(child(node, "MeasurementSpec"), "Device"), "Model").text().get();
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
      if (values.size() == limits::spectrum_bands) {
        throw DataError(where + "a spectrum has at most " + std::to_string(limits::spectrum_bands) +
                        " bands");
      }
      nm.push_back(*start + *specification.increment_nm * static_cast<double>(values.size()));
      values.push_back(std::max(*value, 0.0));
    }
    Reflectance curve(grid_of(nm, where + "ReflectanceSpectrum"), std::move(values));
    check_visible(curve.grid(), where + "ReflectanceSpectrum");
    as_data_error(source_ + ": ", [&] {
      check_grid(curve.grid());
      check_reflectance(curve, "a ReflectanceSpectrum");
    });
    return curve;
  }

  bool read_object(const pugi::xml_node& object, const std::optional<Viewing>& given,
                   std::size_t row, const RowSink& sink) const {
    const std::string name = object.attribute("Name").value();
    const std::string id = object.attribute("Id").value();
    const std::string where = source_ + ": object \"" + (name.empty() ? id : name) + "\": ";
    const pugi::xml_node values = child(object, "ColorValues");
    TableRow found;
    found.line = row;
    found.label = !name.empty() ? name : !id.empty() ? id : "reading " + std::to_string(row);
    found.named = !name.empty() || !id.empty();
    read_tags(object, found);
    const pugi::xml_node lab = child(values, "ColorCIELab");
    if (const auto node = child(values, "ReflectanceSpectrum")) {
      const Viewing viewing = settle_viewing(
          given ? StatedViewing{} : specification_of(node, where).viewing, given, false, source_);
      found.reflectance = spectrum(node, where);
      if (found.instrument.empty()) found.instrument = specification_of(node, where).instrument;
      found.lab = to_lab(*found.reflectance, viewing);
      if (lab && same_viewing(lab, viewing))
        found.unused_lab_de = de76(lab_of(lab, where), found.lab);
      sink(std::move(found), viewing);
      return true;
    }
    if (lab) {
      const Specification& specification = specification_of(lab, where);
      const Viewing viewing = settle_viewing(specification.viewing, given, true, source_);
      if (found.instrument.empty()) found.instrument = specification.instrument;
      found.lab = lab_of(lab, where);
      sink(std::move(found), viewing);
      return true;
    }
    return false;
  }

  // Whether a colour is stated under this very viewing.
  [[nodiscard]] bool same_viewing(const pugi::xml_node& value, const Viewing& viewing) const {
    const auto found = specifications_.find(value.attribute("ColorSpecification").value());
    return found != specifications_.end() &&
           found->second.viewing.illuminant == viewing.illuminant.name() &&
           found->second.viewing.observer == viewing.observer;
  }

  [[nodiscard]] Lab lab_of(const pugi::xml_node& node, const std::string& where) const {
    const auto within = [&](const char* axis, double least, double most) {
      const double value = number(child(node, axis), where);
      if (value >= least && value <= most) return value;
      throw DataError(where + "expected " + axis + " from " + format_short(least, 5) + " to " +
                      format_short(most, 5) + ", got " + format_short(value, 6));
    };
    return {within("L", 0, 150), within("A", -200, 200), within("B", -200, 200)};
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
  add_text(tristimulus, "cc:Illuminant", exchanged_name(viewing.illuminant));
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

namespace {

CxfReader reader_of(ByteSource& source) {
  if (source.size() > limits::cxf_bytes) refuse_size(source.name());
  std::string bytes(source.size(), '\0');
  source.stream().read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  return {bytes, source.name()};
}

}  // namespace

void each_cxf_row(ByteSource& source, const std::optional<Viewing>& given, const RowSink& sink) {
  reader_of(source).each_row(given, sink);
}

void each_cxf_text(ByteSource& source, const std::function<void(const CxfText& object)>& sink) {
  reader_of(source).each_text(sink);
}

}  // namespace detail

namespace {

// Controls are no characters of XML 1.0.
std::string as_xml(std::string text) {
  std::replace_if(
      text.begin(), text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20; }, ' ');
  return text;
}

void add_tags(pugi::xml_node object, const detail::OutRow& row) {
  pugi::xml_node list;
  const auto add = [&](const char* name, const std::string& value) {
    if (value.empty()) return;
    if (!list) list = object.append_child("cc:TagCollection");
    pugi::xml_node tag = list.append_child("cc:Tag");
    tag.append_attribute("Name") = name;
    tag.append_attribute("Value") = as_xml(value).c_str();
  };
  add("Zone", row.reading->zone);
  add("Operator", row.operator_name);
  add("Day", row.day);
  add("Instrument", row.instrument);
}

std::string cxf_of(const std::vector<detail::OutRow>& rows) {
  using detail::format_number;
  if (rows.empty()) throw ArgumentError("to_cxf: there is no reading to write");
  const Viewing& viewing = rows.front().reading->viewing;
  std::optional<Grid> grid;
  for (const detail::OutRow& row : rows) {
    const Reading& reading = *row.reading;
    check_same_viewing(viewing, reading.viewing, "to_cxf");
    if (!reading.reflectance) continue;
    if (grid && *grid != reading.reflectance->grid()) {
      throw ArgumentError("to_cxf: curves on unlike grids cannot stand in one file");
    }
    grid = reading.reflectance->grid();
  }
  pugi::xml_document document;
  pugi::xml_node declaration = document.append_child(pugi::node_declaration);
  declaration.append_attribute("version") = "1.0";
  declaration.append_attribute("encoding") = "UTF-8";
  pugi::xml_node root = document.append_child("cc:CxF");
  root.append_attribute("xmlns:cc") = std::string(detail::cxf_namespace).c_str();
  // The format asks for a date; a file without a clock in it is the same every time.
  const std::string date(detail::no_date);
  pugi::xml_node information = root.append_child("cc:FileInformation");
  detail::add_text(information, "cc:Creator", "mamelon " + std::string(library_version()));
  detail::add_text(information, "cc:CreationDate", date);
  pugi::xml_node resources = root.append_child("cc:Resources");
  pugi::xml_node objects = resources.append_child("cc:ObjectCollection");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const Reading& reading = *rows[i].reading;
    pugi::xml_node object = objects.append_child("cc:Object");
    object.append_attribute("ObjectType") = "Target";
    object.append_attribute("Name") = as_xml(reading.label).c_str();
    object.append_attribute("Id") = std::to_string(i + 1).c_str();
    detail::add_text(object, "cc:CreationDate", date);
    pugi::xml_node values = object.append_child("cc:ColorValues");
    if (reading.reflectance) {
      std::string text;
      for (const double value : reading.reflectance->values()) {
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
    add_tags(object, rows[i]);
  }
  pugi::xml_node list = resources.append_child("cc:ColorSpecificationCollection");
  if (grid) detail::add_specification(list, viewing, grid);
  detail::add_specification(list, viewing, {});
  std::ostringstream out;
  document.save(out, "  ");
  return out.str();
}

}  // namespace

std::string to_cxf(std::span<const Reading> readings) {
  return cxf_of(detail::out_rows(readings));
}
std::string repeats_to_cxf(std::span<const RepeatReading> readings) {
  return cxf_of(detail::out_rows(readings));
}

}  // namespace mamelon
