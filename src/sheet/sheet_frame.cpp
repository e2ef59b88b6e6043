#include <string>
#include <string_view>
#include <vector>

#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon::detail {

std::string swatch_single(const Lab& lab, const Viewing& viewing, std::string_view description) {
  return "<span class=pair role=img aria-label=\"" + escaped(description) +
         "\"><i style=\"background:" + swatch_of(lab, viewing).hex + "\"></i></span>";
}

std::string swatch_pair(const Lab& left, const Lab& right, const Viewing& viewing,
                        std::string_view description) {
  return "<span class=pair role=img aria-label=\"" + escaped(description) +
         "\"><i style=\"background:" + swatch_of(left, viewing).hex +
         "\"></i><i style=\"background:" + swatch_of(right, viewing).hex + "\"></i></span>";
}

std::string bullets(const std::vector<std::string>& items) {
  std::string out = "<ul>";
  for (const std::string& item : items) out += "<li>" + escaped(item, 600) + "</li>";
  return out + "</ul>";
}

std::string sheet_begin(std::string_view title, std::string_view kind) {
  const std::string name = escaped(title);
  return "<!doctype html>\n<html lang=en><head><meta charset=utf-8><meta name=generator "
         "content=mamelon><meta name=viewport "
         "content=\"width=device-width,initial-scale=1\"><title>" +
         name + "</title><style>" + std::string(sheet_style()) +
         "</style></head><body><main><header><h1>" + name + "</h1><p class=quiet>" + escaped(kind) +
         "</p></header>";
}

std::string invented_mark() {
  return "<p class=invented><strong>Invented</strong> tabs or pastes, for trying things out: this "
         "is "
         "an example and no plan. Do not use it on a patient.</p>";
}

std::string sheet_end(std::string_view digest) {
  return "<footer>mamelon " + std::string(library_version()) + " · record <code>" +
         std::string(digest) + "</code></footer></main></body></html>\n";
}

}  // namespace mamelon::detail
