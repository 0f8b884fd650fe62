#include "diagnosis/names.hpp"

namespace sievecloth {

std::string_view to_text(ClothQuantity value) noexcept { return word_of(value); }
std::string_view to_text(SignKind value) noexcept { return word_of(value); }
std::string_view to_text(NotTested value) noexcept { return word_of(value); }
std::string_view to_text(Dependence value) noexcept { return word_of(value); }
std::string_view to_text(Withheld value) noexcept { return word_of(value); }
std::string_view to_text(Crimp value) noexcept { return word_of(value); }
std::string_view to_text(GaugeFitness value) noexcept { return word_of(value); }
std::string_view to_text(PlanMethod value) noexcept { return word_of(value); }
std::string_view to_text(Lane value) noexcept { return word_of(value); }

}  // namespace sievecloth
