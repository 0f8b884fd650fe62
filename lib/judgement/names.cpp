#include "judgement/names.hpp"

namespace sievecloth {

std::string_view to_text(DecisionRule value) noexcept { return word_of(value); }
std::string_view to_text(CriterionId value) noexcept { return word_of(value); }
std::string_view to_text(Outcome value) noexcept { return word_of(value); }
std::string_view to_text(Statement value) noexcept { return word_of(value); }
std::string_view to_text(Verdict value) noexcept { return word_of(value); }
std::string_view to_text(Reason value) noexcept { return word_of(value); }
std::string_view to_text(Ground::Kind value) noexcept { return word_of(value); }
std::string_view to_text(Warning::Kind value) noexcept { return word_of(value); }

}  // namespace sievecloth
