#pragma once
// The page's document as a case, and a case that was opened as the page's document.

#include <nlohmann/json.hpp>

#include "page/session.h"

namespace mamelon::page {

using Json = nlohmann::json;

// The document's texts as values; each is read once.
const Card& card_of(Session& session, const Json& document);
const TabSet& tabs_of(Session& session, const Json& document);
const PasteSet& pastes_of(Session& session, const Json& document);

// What the page does not show is as in the opened case that the document names, while its photo and
// card stand. Throws ArgumentError or DataError for a document that is not complete or not true.
Case case_of(Session& session, const Json& document);

TryIn try_in_of(const Session& session, const Json& try_in, const Viewing& viewing);

// Keeps the case, its photos and its documents in the session.
Json document_of(Session& session, const Case& given);

// How the page shows a document: its name, text, members and whether it is invented.
Json shown(const Card& card, const std::string& text);
Json shown(const TabSet& tabs, const std::string& text);
Json shown(const PasteSet& pastes, const std::string& text);

}  // namespace mamelon::page
