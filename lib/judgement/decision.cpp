#include "sievecloth/decision.hpp"

namespace sievecloth {

Result<DecisionRule> parse_decision_rule(std::string_view text) {
  for (const DecisionRule rule : {DecisionRule::simple, DecisionRule::guarded, DecisionRule::four_outcomes}) {
    if (text == to_text(rule)) return rule;
  }
  return Error{ErrorCode::option_value,
               "unknown decision rule",
               printable(text),
               "simple-acceptance, guarded-acceptance or four-outcomes",
               {}};
}

}  // namespace sievecloth
