//! What is shown, as text: one wording for the command line and the screens.
