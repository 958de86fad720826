//! One file a command: arguments, call, render.
