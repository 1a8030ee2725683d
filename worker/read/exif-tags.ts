/** The Exif and TIFF tags that are read, and no others: nothing of where a frame was taken. Exif 2.3 (CIPA DC-008). */
export const EXIF_TAG = {
  make: 0x010f,
  model: 0x0110,
  orientation: 0x0112,
  software: 0x0131,
  dateTime: 0x0132,
  exposureTime: 0x829a,
  fNumber: 0x829d,
  exposureProgram: 0x8822,
  photographicSensitivity: 0x8827,
  sensitivityType: 0x8830,
  standardOutputSensitivity: 0x8831,
  recommendedExposureIndex: 0x8832,
  isoSpeed: 0x8833,
  dateTimeOriginal: 0x9003,
  dateTimeDigitized: 0x9004,
  offsetTime: 0x9010,
  offsetTimeOriginal: 0x9011,
  offsetTimeDigitized: 0x9012,
  shutterSpeedValue: 0x9201,
  apertureValue: 0x9202,
  exposureBiasValue: 0x9204,
  meteringMode: 0x9207,
  lightSource: 0x9208,
  flash: 0x9209,
  focalLength: 0x920a,
  subSecTime: 0x9290,
  subSecTimeOriginal: 0x9291,
  subSecTimeDigitized: 0x9292,
  colourSpace: 0xa001,
  customRendered: 0xa401,
  exposureMode: 0xa402,
  whiteBalance: 0xa403,
  focalLength35mm: 0xa405,
  contrast: 0xa408,
  saturation: 0xa409,
  sharpness: 0xa40a,
  bodySerialNumber: 0xa431,
  lensModel: 0xa434,
  /** DNG 1.0 CameraSerialNumber, in IFD0. */
  dngCameraSerialNumber: 0xc62f,
  /** ISO in the first directory of RW2 files, which write no Exif sensitivity there. */
  rw2Iso: 0x0017,
} as const;

/** InteroperabilityIndex, tag 1 of the interoperability directory (Exif 2.3, 4.6.7). Its number means other things elsewhere. */
export const INTEROPERABILITY_INDEX = 0x0001;

export type ExifTagName = keyof typeof EXIF_TAG;
