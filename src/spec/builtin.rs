//! The specification files compiled into the program, so that the binary works alone.

/// Spec sheets of the demonstration's invented vehicles: file name and text.
#[must_use]
pub const fn builtin_sheets() -> &'static [(&'static str, &'static str)] {
    &[
        (
            "aldercote-wrenfold.toml",
            include_str!("../../specs/vehicles/aldercote-wrenfold.toml"),
        ),
        (
            "merlock-dunling.toml",
            include_str!("../../specs/vehicles/merlock-dunling.toml"),
        ),
        (
            "merlock-pindle.toml",
            include_str!("../../specs/vehicles/merlock-pindle.toml"),
        ),
        (
            "merlock-ternway.toml",
            include_str!("../../specs/vehicles/merlock-ternway.toml"),
        ),
    ]
}

/// Rule packs: file name and text.
#[must_use]
pub const fn builtin_rule_packs() -> &'static [(&'static str, &'static str)] {
    &[
        (
            "brake-fluid.toml",
            include_str!("../../specs/rules/brake-fluid.toml"),
        ),
        ("eu.toml", include_str!("../../specs/rules/eu.toml")),
        ("gb.toml", include_str!("../../specs/rules/gb.toml")),
        (
            "un-r90-new-discs.toml",
            include_str!("../../specs/rules/un-r90-new-discs.toml"),
        ),
        (
            "us-commercial.toml",
            include_str!("../../specs/rules/us-commercial.toml"),
        ),
        (
            "us-commercial-periodic.toml",
            include_str!("../../specs/rules/us-commercial-periodic.toml"),
        ),
        (
            "us-heavy.toml",
            include_str!("../../specs/rules/us-heavy.toml"),
        ),
        (
            "us-light.toml",
            include_str!("../../specs/rules/us-light.toml"),
        ),
    ]
}

/// Policies: file name and text.
#[must_use]
pub const fn builtin_policies() -> &'static [(&'static str, &'static str)] {
    &[(
        "default.toml",
        include_str!("../../specs/policy/default.toml"),
    )]
}

/// Words of a complaint by language: file name and text.
#[must_use]
pub const fn builtin_words() -> &'static [(&'static str, &'static str)] {
    &[
        (
            "symptoms-en.toml",
            include_str!("../../specs/words/symptoms-en.toml"),
        ),
        (
            "symptoms-de.toml",
            include_str!("../../specs/words/symptoms-de.toml"),
        ),
    ]
}

/// Work schedules: file name and text; the first one is the default.
#[must_use]
pub const fn builtin_schedules() -> &'static [(&'static str, &'static str)] {
    &[(
        "routine.toml",
        include_str!("../../specs/schedules/routine.toml"),
    )]
}
