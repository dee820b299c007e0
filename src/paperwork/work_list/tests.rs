//! Work lists against their circuits, counted another way.
