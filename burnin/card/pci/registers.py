"""Registers of PCI configuration space: offsets and bits, under their published names.

Each comment gives the name in Linux's ``pci_regs.h``. Where that header (6.1) lacks one, the name
in pciutils' ``header.h`` (3.9) or the PCI Express Base section that defines it stands instead.
Offsets inside a capability count from the capability's first byte. All fields are little-endian.
"""

from __future__ import annotations

CONVENTIONAL_BYTES = 256  # PCI_CFG_SPACE_SIZE
EXTENDED_BYTES = 4096  # PCI_CFG_SPACE_EXP_SIZE
HEADER_BYTES = 64  # PCI_STD_HEADER_SIZEOF

# The header.
VENDOR_ID = 0x00  # PCI_VENDOR_ID
DEVICE_ID = 0x02  # PCI_DEVICE_ID
COMMAND = 0x04  # PCI_COMMAND
STATUS = 0x06  # PCI_STATUS
STATUS_CAPABILITY_LIST = 0x10  # PCI_STATUS_CAP_LIST
REVISION_ID = 0x08  # PCI_REVISION_ID
CLASS_PROGRAMMING = 0x09  # PCI_CLASS_PROG
CLASS_DEVICE = 0x0A  # PCI_CLASS_DEVICE
HEADER_TYPE = 0x0E  # PCI_HEADER_TYPE
HEADER_TYPE_MASK = 0x7F  # PCI_HEADER_TYPE_MASK
HEADER_TYPE_NORMAL = 0  # PCI_HEADER_TYPE_NORMAL
HEADER_TYPE_BRIDGE = 1  # PCI_HEADER_TYPE_BRIDGE
BASE_ADDRESS_0 = 0x10  # PCI_BASE_ADDRESS_0
BASE_ADDRESS_COUNT = {HEADER_TYPE_NORMAL: 6, HEADER_TYPE_BRIDGE: 2}
BASE_ADDRESS_IO = 0x01  # PCI_BASE_ADDRESS_SPACE_IO
BASE_ADDRESS_TYPE_MASK = 0x06  # PCI_BASE_ADDRESS_MEM_TYPE_MASK
BASE_ADDRESS_TYPE_64 = 0x04  # PCI_BASE_ADDRESS_MEM_TYPE_64
BASE_ADDRESS_PREFETCHABLE = 0x08  # PCI_BASE_ADDRESS_MEM_PREFETCH
SUBSYSTEM_VENDOR_ID = 0x2C  # PCI_SUBSYSTEM_VENDOR_ID
SUBSYSTEM_ID = 0x2E  # PCI_SUBSYSTEM_ID
CAPABILITY_LIST = 0x34  # PCI_CAPABILITY_LIST

# Standard capabilities.
CAP_LIST_ID = 0  # PCI_CAP_LIST_ID
CAP_LIST_NEXT = 1  # PCI_CAP_LIST_NEXT
CAP_ID_POWER_MANAGEMENT = 0x01  # PCI_CAP_ID_PM
CAP_ID_BRIDGE_SUBSYSTEM = 0x0D  # PCI_CAP_ID_SSVID
CAP_ID_EXPRESS = 0x10  # PCI_CAP_ID_EXP
BRIDGE_SUBSYSTEM_VENDOR_ID = 4  # PCI_SSVID_VENDOR_ID
BRIDGE_SUBSYSTEM_ID = 6  # PCI_SSVID_DEVICE_ID

CAPABILITY_NAMES: dict[int, str] = {
    0x00: "blank",
    0x01: "power management",  # PCI_CAP_ID_PM
    0x03: "vital product data",  # PCI_CAP_ID_VPD
    0x05: "MSI",  # PCI_CAP_ID_MSI
    0x09: "vendor specific",  # PCI_CAP_ID_VNDR
    0x0D: "bridge subsystem",  # PCI_CAP_ID_SSVID
    0x10: "PCI Express",  # PCI_CAP_ID_EXP
    0x11: "MSI-X",  # PCI_CAP_ID_MSIX
    0x13: "advanced features",  # PCI_CAP_ID_AF
    0x14: "enhanced allocation",  # PCI_CAP_ID_EA
}

# The PCI Express capability.
EXP_FLAGS = 0x02  # PCI_EXP_FLAGS
EXP_FLAGS_VERSION = 0x000F  # PCI_EXP_FLAGS_VERS
EXP_FLAGS_TYPE = 0x00F0  # PCI_EXP_FLAGS_TYPE
EXP_FLAGS_SLOT = 0x0100  # PCI_EXP_FLAGS_SLOT
EXP_DEVCAP = 0x04  # PCI_EXP_DEVCAP
EXP_DEVCAP_PAYLOAD = 0x00000007  # PCI_EXP_DEVCAP_PAYLOAD
EXP_DEVCTL = 0x08  # PCI_EXP_DEVCTL
EXP_DEVCTL_PAYLOAD = 0x00E0  # PCI_EXP_DEVCTL_PAYLOAD
EXP_DEVSTA = 0x0A  # PCI_EXP_DEVSTA
EXP_LNKCAP = 0x0C  # PCI_EXP_LNKCAP
EXP_LNKCAP_SPEED = 0x0000000F  # PCI_EXP_LNKCAP_SLS
EXP_LNKCAP_WIDTH = 0x000003F0  # PCI_EXP_LNKCAP_MLW
EXP_LNKCAP_ACTIVE_REPORTING = 0x00100000  # PCI_EXP_LNKCAP_DLLLARC
EXP_LNKCTL = 0x10  # PCI_EXP_LNKCTL
EXP_LNKCTL_ASPM = 0x0003  # PCI_EXP_LNKCTL_ASPMC
EXP_LNKCTL_DISABLE = 0x0010  # PCI_EXP_LNKCTL_LD
EXP_LNKCTL_WIDTH_FIXED = 0x0200  # PCI_EXP_LNKCTL_HAWD
EXP_LNKSTA = 0x12  # PCI_EXP_LNKSTA
EXP_LNKSTA_SPEED = 0x000F  # PCI_EXP_LNKSTA_CLS
EXP_LNKSTA_WIDTH = 0x03F0  # PCI_EXP_LNKSTA_NLW
EXP_LNKSTA_WIDTH_SHIFT = 4  # PCI_EXP_LNKSTA_NLW_SHIFT
EXP_LNKSTA_TRAINING = 0x0800  # PCI_EXP_LNKSTA_LT
EXP_LNKSTA_ACTIVE = 0x2000  # PCI_EXP_LNKSTA_DLLLA
EXP_LNKSTA_MANAGED = 0x4000  # PCI_EXP_LNKSTA_LBMS
EXP_LNKSTA_AUTONOMOUS = 0x8000  # PCI_EXP_LNKSTA_LABS
EXP_SLTCAP = 0x14  # PCI_EXP_SLTCAP
EXP_SLTCAP_POWER_VALUE = 0x00007F80  # PCI_EXP_SLTCAP_SPLV
EXP_SLTCAP_POWER_VALUE_SHIFT = 7
EXP_SLTCAP_POWER_SCALE = 0x00018000  # PCI_EXP_SLTCAP_SPLS
EXP_SLTCAP_POWER_SCALE_SHIFT = 15
EXP_SLTCAP_NUMBER = 0xFFF80000  # PCI_EXP_SLTCAP_PSN
EXP_SLTCAP_NUMBER_SHIFT = 19
EXP_LNKCAP2 = 0x2C  # PCI_EXP_LNKCAP2
EXP_LNKCTL2 = 0x30  # PCI_EXP_LNKCTL2
EXP_LNKCTL2_TARGET_SPEED = 0x000F  # PCI_EXP_LNKCTL2_TLS
EXP_LNKSTA2 = 0x32  # PCI_EXP_LNKSTA2

SPEED_BY_CODE_GTS: dict[int, float] = {
    1: 2.5,  # PCI_EXP_LNKSTA_CLS_2_5GB, PCI_EXP_LNKCAP_SLS_2_5GB, PCI_EXP_LNKCTL2_TLS_2_5GT
    2: 5.0,  # PCI_EXP_LNKSTA_CLS_5_0GB
    3: 8.0,  # PCI_EXP_LNKSTA_CLS_8_0GB
    4: 16.0,  # PCI_EXP_LNKSTA_CLS_16_0GB
    5: 32.0,  # PCI_EXP_LNKSTA_CLS_32_0GB
    6: 64.0,  # PCI_EXP_LNKSTA_CLS_64_0GB
}
SPEED_BY_VECTOR_GTS: dict[int, float] = {
    0x02: 2.5,  # PCI_EXP_LNKCAP2_SLS_2_5GB
    0x04: 5.0,  # PCI_EXP_LNKCAP2_SLS_5_0GB
    0x08: 8.0,  # PCI_EXP_LNKCAP2_SLS_8_0GB
    0x10: 16.0,  # PCI_EXP_LNKCAP2_SLS_16_0GB
    0x20: 32.0,  # PCI_EXP_LNKCAP2_SLS_32_0GB
    0x40: 64.0,  # PCI_EXP_LNKCAP2_SLS_64_0GB
}
WIDTHS_LANES = (1, 2, 4, 8, 12, 16, 32)
"""Lane counts that the width fields may hold (PCI Express Base 5.0, 7.5.3.6; x12 and x32 are gone
in 6.0)."""

DEVICE_STATUS_BITS: dict[int, str] = {
    0x0001: "correctable error detected",  # PCI_EXP_DEVSTA_CED
    0x0002: "non-fatal error detected",  # PCI_EXP_DEVSTA_NFED
    0x0004: "fatal error detected",  # PCI_EXP_DEVSTA_FED
    0x0008: "unsupported request detected",  # PCI_EXP_DEVSTA_URD
    0x0010: "auxiliary power detected",  # PCI_EXP_DEVSTA_AUXPD
    0x0020: "transactions pending",  # PCI_EXP_DEVSTA_TRPND
}
DEVICE_STATUS_ERRORS = 0x000F

PORT_TYPES: dict[int, str] = {
    0x0: "endpoint",  # PCI_EXP_TYPE_ENDPOINT
    0x1: "legacy endpoint",  # PCI_EXP_TYPE_LEG_END
    0x4: "root port",  # PCI_EXP_TYPE_ROOT_PORT
    0x5: "upstream port",  # PCI_EXP_TYPE_UPSTREAM
    0x6: "downstream port",  # PCI_EXP_TYPE_DOWNSTREAM
    0x7: "bridge to PCI",  # PCI_EXP_TYPE_PCI_BRIDGE
    0x8: "bridge from PCI",  # PCI_EXP_TYPE_PCIE_BRIDGE
    0x9: "root complex integrated endpoint",  # PCI_EXP_TYPE_RC_END
    0xA: "root complex event collector",  # PCI_EXP_TYPE_RC_EC
}

# Extended capabilities: header fields as in PCI_EXT_CAP_ID, PCI_EXT_CAP_VER, PCI_EXT_CAP_NEXT.
EXT_CAP_START = 0x100
EXT_CAP_ID_ERRORS = 0x01  # PCI_EXT_CAP_ID_ERR
EXT_CAP_ID_SERIAL = 0x03  # PCI_EXT_CAP_ID_DSN
EXT_CAP_ID_SECONDARY = 0x19  # PCI_EXT_CAP_ID_SECPCI
EXT_CAP_ID_PHYSICAL_16GT = 0x26  # PCI_EXT_CAP_ID_PL_16GT
EXT_CAP_ID_MARGINING = 0x27  # PCI_EXT_CAP_ID_LMR (pciutils)
EXT_CAP_ID_PHYSICAL_32GT = 0x2A  # PCI_EXT_CAP_ID_PL_32GT in later headers

EXTENDED_CAPABILITY_NAMES: dict[int, str] = {
    0x0000: "blank",
    0x0001: "advanced error reporting",  # PCI_EXT_CAP_ID_ERR
    0x0002: "virtual channel",  # PCI_EXT_CAP_ID_VC
    0x0003: "device serial number",  # PCI_EXT_CAP_ID_DSN
    0x0004: "power budgeting",  # PCI_EXT_CAP_ID_PWR
    0x000B: "vendor specific",  # PCI_EXT_CAP_ID_VNDR
    0x000D: "access control",  # PCI_EXT_CAP_ID_ACS
    0x000E: "alternative routing id",  # PCI_EXT_CAP_ID_ARI
    0x000F: "address translation",  # PCI_EXT_CAP_ID_ATS
    0x0010: "single root virtualisation",  # PCI_EXT_CAP_ID_SRIOV
    0x0013: "page request",  # PCI_EXT_CAP_ID_PRI
    0x0015: "resizable BAR",  # PCI_EXT_CAP_ID_REBAR
    0x0018: "latency tolerance reporting",  # PCI_EXT_CAP_ID_LTR
    0x0019: "secondary PCI Express",  # PCI_EXT_CAP_ID_SECPCI
    0x001B: "process address space id",  # PCI_EXT_CAP_ID_PASID
    0x001D: "downstream port containment",  # PCI_EXT_CAP_ID_DPC
    0x001E: "L1 substates",  # PCI_EXT_CAP_ID_L1SS
    0x001F: "precision time measurement",  # PCI_EXT_CAP_ID_PTM
    0x0023: "designated vendor specific",  # PCI_EXT_CAP_ID_DVSEC
    0x0025: "data link feature",  # PCI_EXT_CAP_ID_DLF
    0x0026: "physical layer 16 GT/s",  # PCI_EXT_CAP_ID_PL_16GT
    0x0027: "lane margining",  # PCI_EXT_CAP_ID_LMR (pciutils)
    0x002A: "physical layer 32 GT/s",  # PCI_EXT_CAP_ID_PL_32GT in later headers
    0x002E: "data object exchange",  # PCI_EXT_CAP_ID_DOE
}

# Advanced error reporting.
ERR_UNCORRECTABLE_STATUS = 0x04  # PCI_ERR_UNCOR_STATUS
ERR_UNCORRECTABLE_MASK = 0x08  # PCI_ERR_UNCOR_MASK
ERR_CORRECTABLE_STATUS = 0x10  # PCI_ERR_COR_STATUS
ERR_CORRECTABLE_MASK = 0x14  # PCI_ERR_COR_MASK

UNCORRECTABLE_BITS: dict[int, str] = {
    0x00000010: "data link protocol",  # PCI_ERR_UNC_DLP
    0x00000020: "surprise down",  # PCI_ERR_UNC_SURPDN
    0x00001000: "poisoned TLP",  # PCI_ERR_UNC_POISON_TLP
    0x00002000: "flow control protocol",  # PCI_ERR_UNC_FCP
    0x00004000: "completion timeout",  # PCI_ERR_UNC_COMP_TIME
    0x00008000: "completer abort",  # PCI_ERR_UNC_COMP_ABORT
    0x00010000: "unexpected completion",  # PCI_ERR_UNC_UNX_COMP
    0x00020000: "receiver overflow",  # PCI_ERR_UNC_RX_OVER
    0x00040000: "malformed TLP",  # PCI_ERR_UNC_MALF_TLP
    0x00080000: "ECRC",  # PCI_ERR_UNC_ECRC
    0x00100000: "unsupported request",  # PCI_ERR_UNC_UNSUP
    0x00200000: "access control violation",  # PCI_ERR_UNC_ACSV
    0x00400000: "internal",  # PCI_ERR_UNC_INTN
    0x00800000: "multicast blocked TLP",  # PCI_ERR_UNC_MCBTLP
    0x01000000: "atomic operation blocked",  # PCI_ERR_UNC_ATOMEG
    0x02000000: "TLP prefix blocked",  # PCI_ERR_UNC_TLPPRE
}
CORRECTABLE_BITS: dict[int, str] = {
    0x00000001: "receiver error",  # PCI_ERR_COR_RCVR
    0x00000040: "bad TLP",  # PCI_ERR_COR_BAD_TLP
    0x00000080: "bad DLLP",  # PCI_ERR_COR_BAD_DLLP
    0x00000100: "replay number rollover",  # PCI_ERR_COR_REP_ROLL
    0x00001000: "replay timer timeout",  # PCI_ERR_COR_REP_TIMER
    0x00002000: "advisory non-fatal",  # PCI_ERR_COR_ADV_NFAT
    0x00004000: "corrected internal",  # PCI_ERR_COR_INTERNAL
    0x00008000: "header log overflow",  # PCI_ERR_COR_LOG_OVER
}

# Lane registers.
SECONDARY_LANE_ERROR_STATUS = 0x08  # PCI_SEC_LANE_ERR (pciutils)
PHYSICAL_16GT_STATUS = 0x0C  # 16.0 GT/s Status, PCI Express Base 4.0, 7.7.5.4
PHYSICAL_16GT_PARITY_MISMATCH = 0x10  # Local Data Parity Mismatch Status, same, 7.7.5.5
PHYSICAL_32GT_STATUS = 0x0C  # 32.0 GT/s Status, PCI Express Base 5.0, 7.7.6.4
MARGINING_PORT_CAPABILITIES = 0x04  # Margining Port Capabilities, PCI Express Base 4.0, 7.7.7
MARGINING_PORT_STATUS = 0x06  # Margining Port Status, same

EQUALIZATION_BITS: dict[int, str] = {
    0x01: "complete",
    0x02: "phase 1 successful",
    0x04: "phase 2 successful",
    0x08: "phase 3 successful",
    0x10: "requested anew",
}
"""Bits of the 16 and 32 GT/s status registers; Link Status 2 holds the same five for 8 GT/s one
place further left (PCI Express Base 5.0, 7.5.3.20, 7.7.5.4, 7.7.6.4)."""
