"""One function per thing a user can ask for. Each module is one such thing; none is imported early."""
