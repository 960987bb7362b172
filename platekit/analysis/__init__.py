"""What is worked out from a layout, without judging it: order of assembly, nearness, odds of fit, differences."""
