"""Where a card is read: sysfs, hwmon, DRM, NVML, the configuration space of Linux."""
