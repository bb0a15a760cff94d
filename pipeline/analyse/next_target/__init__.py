"""Next targets: what the progression rule proposes for each exercise planned next week."""

from pipeline.analyse.next_target.build import READS, build_next_target

NEXT_TARGET_MODELS = [("next_target", READS, build_next_target)]

__all__ = ["NEXT_TARGET_MODELS"]
