#include "sievecloth/decision.hpp"

#include <array>

namespace sievecloth {

std::string_view to_text(DecisionRule rule) noexcept {
  constexpr auto names = std::to_array<std::string_view>({"simple-acceptance", "guarded-acceptance", "four-outcomes"});
  return names[static_cast<std::size_t>(rule)];
}

Result<DecisionRule> parse_decision_rule(std::string_view text) {
  for (const DecisionRule rule : {DecisionRule::simple, DecisionRule::guarded, DecisionRule::four_outcomes}) {
    if (text == to_text(rule)) return rule;
  }
  return Error{ErrorCode::option_value,
               "unknown rule of decision",
               printable(text),
               "simple-acceptance, guarded-acceptance or four-outcomes",
               {}};
}

}  // namespace sievecloth
