#include "shade/content.h"

#include "base/numbers.h"

namespace mamelon::detail {
namespace {

void append(std::string& text, double value) {
  text += format_number(value);
  text += ' ';
}

void append(std::string& text, const std::optional<Reflectance>& curve) {
  if (!curve) return;
  append(text, curve->grid().first_nm);
  append(text, curve->grid().step_nm);
  for (const double value : curve->values()) append(text, value);
}

}  // namespace

std::string content_of(const Measured<Lab>& lab) {
  std::string text;
  append(text, lab.value.l);
  append(text, lab.value.a);
  append(text, lab.value.b);
  for (const Mat3* covariance : {&lab.random, &lab.shared})
    for (const auto& row : *covariance)
      for (const double value : row) append(text, value);
  append(text, lab.dof);
  return text;
}

std::string digest_of(const Reading& reading) {
  std::string text = reading.label + "\n" + reading.zone + "\n" + content_of(reading.lab);
  append(text, reading.reflectance);
  return sha256_hex(text);
}

std::string digest_of(const TabSet& tabs) {
  std::string text = tabs.name + "\n";
  for (const Tab& tab : tabs.tabs) {
    text += tab.name + "\n" + content_of(tab.lab);
    append(text, tab.shared_dof);
    append(text, tab.reflectance);
    text += "\n";
  }
  if (tabs.new_reading != Mat3{}) {
    for (const auto& row : tabs.new_reading)
      for (const double value : row) append(text, value);
    append(text, tabs.new_reading_dof);
  }
  return sha256_hex(text);
}

}  // namespace mamelon::detail
